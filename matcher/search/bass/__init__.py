"""Bass: drivers in boxes at cargo spaces, on the blocks that may drive them."""
