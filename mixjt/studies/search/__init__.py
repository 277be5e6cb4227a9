"""Search for the best blends; see `mixjt.studies.search.search.search`."""
