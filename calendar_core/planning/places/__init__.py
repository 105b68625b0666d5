"""Where trees should stand: what each bears, what each spot gives, and the moves that follow from it."""
