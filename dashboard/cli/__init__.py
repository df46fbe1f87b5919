"""The command `mendfleet`: one module per group of commands."""
