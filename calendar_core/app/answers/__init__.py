"""Answers to what the plan and the warnings ask, and what is asked in return."""
