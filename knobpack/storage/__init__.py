"""Storage: JSON that refuses what is doubtful, and files written whole or not at all."""
