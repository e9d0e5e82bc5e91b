"""Training: how far a tree is, the next step for each limb, the season its form is full.

    plan_limbs(facts)            the limbs the form is to have on this support
    fold(facts, records, on)     the tree as it stands: the same records always give the same state
    next_steps(state)            what the form asks for in the season of the state's day
    steps_for_season(state, y)   the same for another season, with the tree carried forward to it
    forecast(state)              in which season each tier is set and the form full, with 10, 50 and 90 %

No framework, no clock, no database: dates are arguments, values are frozen.
"""
