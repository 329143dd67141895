"""Looking for mistakes on the wire, with nothing switched on: who answers, how, and what it says."""
