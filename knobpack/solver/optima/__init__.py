"""All that is equally good, gone through."""
