"""Flight logs against the model: read, driven through the model, compared, and what would make the model agree."""
