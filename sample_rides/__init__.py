"""Invented rides with their truth: the simulator, the demo sheets and the bundled demo rides."""
