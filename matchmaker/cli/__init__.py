"""The command line: thin skins over the verbs."""
