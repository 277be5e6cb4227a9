"""Roads to one load side by side; see `mixjt.studies.compare.compare.compare`."""
