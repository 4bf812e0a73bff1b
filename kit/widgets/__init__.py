"""Controls for the notebooks: thin, over the verbs of the kit."""
