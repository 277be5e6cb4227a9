"""The kinds of throttle circuit, one file each: what it states, how its streams run, what it finds besides."""
