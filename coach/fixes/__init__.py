"""Position reports: NMEA 0183 and GDL 90 bytes to fixes and back, and whether a feed can be believed."""
