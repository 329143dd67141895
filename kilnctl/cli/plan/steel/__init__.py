"""The commands about steels: cards on the screen, as a page or as an answer, a choice, a new one, coupons."""
