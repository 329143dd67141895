"""What a heat tells after each tick: the screen, the record, horn and lamp, and the times that are left."""
