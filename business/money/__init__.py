"""What amounts do: round, add up, be shared out, bear interest. Pure; Decimal in, Decimal out."""
