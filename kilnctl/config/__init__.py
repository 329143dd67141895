"""What the owner says: oven files, and the folders in which his things lie."""

from kilnctl.config.oven import Oven, load_oven

__all__ = ["Oven", "load_oven"]
