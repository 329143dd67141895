"""Simulated ovens, and the board that switches and measures them. All data invented.

A multi-mass plant (element, air, hot face, layered wall, part, sensor), an output and sensor board with a
dead-man of its own, faults by script, and slaves that speak real bytes on a pseudo-terminal. Knows nothing
of kilnctl and shares no model with it, so that a controller is judged by something it did not write.
"""
