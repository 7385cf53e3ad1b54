"""Questions to the bundles of many plants at once, in SQL."""
