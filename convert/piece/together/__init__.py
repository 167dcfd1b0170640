"""Parts of one piece laid together on their seam lines: what opens between them is a dart."""
