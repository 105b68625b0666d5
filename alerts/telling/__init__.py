"""The texts of warnings: what, when, which trees, what to do, how sure; values in, values out."""
