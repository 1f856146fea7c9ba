"""What birds carry: evidence, genotype probabilities, chicks and test chicks."""
