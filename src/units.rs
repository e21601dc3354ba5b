//! Quantities, and what people type for them ("16 psi", "190 F", "9.5 L").
