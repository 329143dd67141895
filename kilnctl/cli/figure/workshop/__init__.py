"""Questions of the workshop that no steel and no oven answers: weights, gas in a room, radiation."""
