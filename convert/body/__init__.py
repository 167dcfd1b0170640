"""The body: the measurement card, what each measurement means, size charts, slips of the pen."""
