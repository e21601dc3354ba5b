//! YAML files to a checked rule book: reading, laying over, positions of faults, edits that keep comments.
