"""Outside values, what both property models make of them, and the page that shows it."""
