"""Load, on request; pytest collects nothing here."""
