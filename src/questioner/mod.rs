//! What to ask next: the interview as a pure state machine.
