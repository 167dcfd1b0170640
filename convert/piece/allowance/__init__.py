"""The seam allowance of each edge, with its evidence; taken off and put back."""
