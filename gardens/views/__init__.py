"""Pages of the gardens."""
