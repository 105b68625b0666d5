"""Hazards to trees and people, from hourly weather, spot and stand; values in, values out."""
