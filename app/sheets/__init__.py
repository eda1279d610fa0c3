"""Printed sheets in true millimetres."""
