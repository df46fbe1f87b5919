"""Charts, and pictures of them to take home."""
