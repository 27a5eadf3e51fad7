"""Documents of vehicles and jobs: load, export, copy."""
