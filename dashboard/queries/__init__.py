"""One function per question; pages, routes and commands call nothing else."""
