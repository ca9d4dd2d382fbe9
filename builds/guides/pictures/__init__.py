"""Pictures of a guide: cropped, turned and marked. What is done to one is data; the file stays as it was uploaded."""
