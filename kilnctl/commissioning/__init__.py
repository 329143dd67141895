"""The set-up walk of an oven: steps with drills, each dated in the logbook with its value and expiry."""
