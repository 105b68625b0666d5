"""The first day: founding a garden in a few answers, and the demo."""
