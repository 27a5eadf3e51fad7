"""Parts and vehicles as tables with every reading laid over, and the suppliers they come from."""
