"""The life of a job: choices, later changes, orders, set-up, and open points before a signature."""
