"""Outside files become records and problems; one module per format. Nothing here stores anything."""
