"""The page: a local web application on the same job folders and through the same functions as the command line."""
