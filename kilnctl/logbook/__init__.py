"""The memory: one SQLite file with runs, samples, events and everything known about ovens and parts."""
