"""The user's guide: Markdown pages that are shipped with the program and shown by `kilnctl guide`."""
