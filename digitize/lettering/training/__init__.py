"""The recipe of our reader's network: what is drawn, how it is trained, and how well it reads."""
