"""The flock folder: its tables and its configuration, read and written."""
