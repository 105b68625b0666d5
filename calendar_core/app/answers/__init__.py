"""Answers to items of the plan and to warnings, and what a move changes."""
