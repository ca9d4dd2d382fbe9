"""A parts list as a spreadsheet has it, made into rows of the guide: read, checked row by row, and merged."""
