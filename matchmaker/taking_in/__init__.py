"""A keeper's book on its way to a flock folder: proposed, checked, written, given again."""
