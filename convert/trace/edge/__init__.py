"""The paper's edge to a fraction of a pixel, as smooth curves between true corners."""
