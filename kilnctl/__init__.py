"""kilnctl: heat treatment of small steel parts, from the recipe to the record of the finished part."""

__version__ = "0.1.0"
