//! `hubtrace sweep` as a builder runs it: exit codes, tables, summary, screen, and files that try to break it.

mod sweep_cli {
    mod exit_codes;
    mod odd_files;
    mod program;
    mod screen;
    mod summary;
    mod tables;
}
