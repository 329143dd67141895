"""How a document becomes a page: html, pdf or text, with its type and its style."""
