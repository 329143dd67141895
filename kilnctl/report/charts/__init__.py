"""The charts of a heat, and of a plan that has not been run: on paper, or inside a page."""
