"""The value function of a large family: ways and bounds by column generation."""
