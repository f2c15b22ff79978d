"""Cameras and second recorders: when each ran, how its clock went, and the mix laid under its picture."""
