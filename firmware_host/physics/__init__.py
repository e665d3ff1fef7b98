"""Laws without state; the one package that the simulator may share."""
