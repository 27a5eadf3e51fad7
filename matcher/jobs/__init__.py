"""The life of a job: choices, changes since, orders, set-up, and the points that are open before a signature."""
