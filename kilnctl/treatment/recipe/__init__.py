"""What a recipe may say: its treatments with their keys, the words that makers write, the parts of a load."""
