"""A booklet to practise pattern cutting with, on the maker's own block at a reduced scale."""
