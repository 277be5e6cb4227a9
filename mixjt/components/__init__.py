"""The parts of a refrigerator, one file each: compressor, recuperator."""
