"""What every answer goes through: who may ask, how errors are said, the browser half as files."""
