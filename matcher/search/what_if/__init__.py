"""What-if questions: with limits lifted, a given part, or assumed figures."""
