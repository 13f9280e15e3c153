"""Recordings spoilt on purpose: whatever comes in, the answer is three lines or a plain fault."""
