"""A temper: as a dose of time and heat, how cool and how soon it may be, which one gives a hardness."""
