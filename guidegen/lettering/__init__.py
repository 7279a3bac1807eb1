"""A marker in a hand at a size: letters, spacing, text, the right size, drawings inked."""
