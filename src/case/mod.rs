//! Answers, evidence and the folder of cases.
