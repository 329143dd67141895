"""What the owner says: oven files, and the folders in which his things lie.

Nothing is imported here: `kilnctl off` asks for the folders and must not wait for the checking of oven files.
"""
