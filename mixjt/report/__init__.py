"""What is said of a result: figures declared once, tables, text on the terminal, files, cautions."""
