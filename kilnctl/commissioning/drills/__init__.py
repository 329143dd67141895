"""What this program heats at the set-up: a drill at a time, watched, on a leash, the heat off at its end."""
