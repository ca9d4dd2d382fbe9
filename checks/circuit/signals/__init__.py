"""What a kit does to a small signal about its operating point: gain, response, impedances, ripple; and estimates of
where it clips."""
