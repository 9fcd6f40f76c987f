"""Text: what all answers have in common, however they are shown."""
