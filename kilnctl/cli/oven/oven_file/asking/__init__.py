"""How an oven file is asked for, key by key: the questions, what is offered, what an answer brings along."""
