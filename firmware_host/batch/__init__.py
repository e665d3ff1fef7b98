"""Before the pour: resin, dose, work window, and whether it is wise to start."""
