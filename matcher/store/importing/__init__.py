"""Load lists into the catalog: cells to figures or problem rows, and the resulting versions."""
