"""Everything in, findings and pages out: the only stage that prints, writes or serves."""
