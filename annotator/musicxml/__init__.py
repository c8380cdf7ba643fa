"""The way back: marks into the user's own document and out of it, the document as bytes, the bytes as a file."""
