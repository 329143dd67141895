"""What a device speaks, and what is read and written in it: Modbus, plain lines of text, a line protocol."""
