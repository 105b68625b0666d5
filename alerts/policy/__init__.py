"""From threats to warnings: what is raised, changed, withdrawn and told when; values in, values out."""
