"""How an oven is learned: the heat-up that shows it, the fit, and what the fit says."""
