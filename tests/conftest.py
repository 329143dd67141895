"""What holds for every test: no property is judged by how busy the machine is."""

from hypothesis import settings

settings.register_profile("house", deadline=None)
settings.load_profile("house")
