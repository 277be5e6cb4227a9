"""Outside values, what the property model makes of them, and the page that shows it."""
