"""The round: gardens, beds, visits, their weather, and what to look for next."""
