"""What genetics says of birds and of their chicks."""
