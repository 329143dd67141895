"""Made of the record: exports, one-page records, comparisons, part stories. Reads the logbook only."""
