"""Files in, one :class:`~ingest.recording.Recording` out: units settled, no geometry, no opinion."""
