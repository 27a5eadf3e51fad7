"""Parts and vehicles as tables with readings applied, and their suppliers."""
