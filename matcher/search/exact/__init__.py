"""The exact ranking: the k best packages under limits on the whole, in whole numbers and names alone."""
