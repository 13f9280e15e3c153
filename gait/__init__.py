"""Path and motion in; bouts, strides, transitions, events and rhythm out.

The lead in canter is left out: a phone in any pocket, turned any way and swung by the rider, has
not been shown to tell it rightly, and a lead told wrongly is worse than none.
"""
