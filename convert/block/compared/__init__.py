"""Pattern against body: ease now, ease wanted, in words."""
