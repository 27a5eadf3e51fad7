"""Vehicles and jobs as documents: taken in, taken out, made like another."""
