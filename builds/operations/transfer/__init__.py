"""A whole kit in one file, from one installation to another: revisions, guides, pictures, builds, readings, photos,
snags and decisions. The file does not depend on the database it came from."""
