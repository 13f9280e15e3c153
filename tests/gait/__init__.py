"""Tests; see DEVELOPERS.md."""
