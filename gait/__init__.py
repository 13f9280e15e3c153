"""Path and motion in; bouts, strides, transitions, events and rhythm out."""
