"""Bass: subwoofers in boxes at cargo spaces, with the channel groups that can drive them."""
