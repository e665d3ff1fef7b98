"""How good each reading is: learnt noise, spikes, stuck codes, couples that lie. Pure."""
