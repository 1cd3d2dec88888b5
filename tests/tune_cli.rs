//! `hubtrace tune` as a builder runs it: what it reaches, what it writes, what it says, and files that try to break it.

mod tune_cli {
    mod answers;
    mod freedoms;
    mod program;
    mod refusals;
    mod screen;
    mod sweep_advice;
}
