"""All that a grower reads: items, reasons and answers are codes and values until this room makes text of them.

Each subject has its module (``plan_text``, ``due_text``, ``log_text``, ...): catalogues, dictionaries from a key to one
English phrase with names in braces, and functions that fill them in through `style.Style.say`. `app` only places the
text. What stays there is the command line's own: the help of commands and options, and the refusals of what was typed.
"""
