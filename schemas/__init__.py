"""What crosses a boundary: the graph document, requests, answers and problems."""
