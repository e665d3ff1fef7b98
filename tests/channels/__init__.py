"""Quality of readings: noise, spikes, stuck codes, couples as witnesses."""
