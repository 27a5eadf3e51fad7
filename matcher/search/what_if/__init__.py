"""The same question asked otherwise: with limits lifted, with one part, with figures supposed."""
