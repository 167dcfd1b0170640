"""What speaks against the pitch told."""
