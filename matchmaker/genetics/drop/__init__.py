"""Genes dropped through a flock: whole genomes of every bird, place by place, as planes of bits."""
