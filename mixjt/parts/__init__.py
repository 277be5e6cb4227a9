"""The parts of a refrigerator: compressors, recuperator, throttle, vapour-compression stage, cold mass."""
