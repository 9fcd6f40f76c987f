"""What families cost with each number of knobs, and how the knobs are divided among them."""
