"""Explanations as screens, sentences and documents."""
