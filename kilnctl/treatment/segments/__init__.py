"""Every treatment as segments of a profile, with a reason and a source beside each number."""
