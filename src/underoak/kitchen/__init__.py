"""A haul becomes a schedule, amounts, jars and use-by days, by published methods."""
