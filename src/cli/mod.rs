//! One file a command: arguments in, library called, result printed.
