"""The invented flocks behind the examples: bred bird by bird, then written as a keeper would."""
