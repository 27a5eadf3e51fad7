"""What may fill each slot of a job, priced and scored, with what comes along with it."""
