"""Adapters that turn what stations and services hand out into the daily table of the weather room."""
