"""Candidates for each slot of a job, priced and scored, with their accompanying parts."""
