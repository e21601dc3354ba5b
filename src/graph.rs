//! Rule book and vehicle to a cause graph.
