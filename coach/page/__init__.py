"""The instructor's page: the flight as a live page in a browser, and what is pressed on it."""
