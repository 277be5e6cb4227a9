"""Case files: what may be written, how it is read and refused, and the requests made of it."""
