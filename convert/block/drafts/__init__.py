"""A sleeve or a skirt drafted where none was photographed."""
