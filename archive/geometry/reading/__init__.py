"""What files of sheets hold, read behind gates: scans, drawings, pages of documents."""
