"""Garden, spots, trees and the log; the state of a tree is a fold over its log."""
