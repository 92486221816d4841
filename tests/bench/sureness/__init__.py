"""How sure a recognition is: the sounds that the probability is fitted to, the fit, and the check on
others."""
