//! Published and derived check values: every file of `tests/reference/` names its source, its provenance and its tolerance.

mod reference {
    mod file;
    mod forces;
    mod kinematics;
    mod numbers;
}
