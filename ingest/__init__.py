"""Records in: files are read, validated and stored; no row is lost."""
