"""Step sheets: how each thing is put together, a page a step."""
