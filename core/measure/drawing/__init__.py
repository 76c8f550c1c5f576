"""Old outline files: read, joined, nested, recognised, made into a housing."""
