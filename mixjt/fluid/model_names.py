"""Names of property models that commands and case files may state; nothing heavy is imported for them."""

DEFAULT = "multi-fluid"
ALIASES = {"cubic": DEFAULT, "fast": DEFAULT, "reference": DEFAULT}  # names of earlier days
