//! The real program as a builder runs it: exit code, stdout, stderr and files; what is not expected must be empty.

mod build_sheet;
mod car;
mod check;
mod correct;
mod correct_axle;
mod correct_columns;
mod correct_few;
mod correct_near_limit;
mod documents;
mod driveline;
mod fabricate;
mod fault;
mod forces;
mod help;
mod in_process;
mod locate;
mod locate_into;
mod names;
mod new;
mod options;
mod outside;
mod program;
mod report;
mod results;
mod screen;
#[cfg(target_os = "linux")]
mod signals;
mod streams;
mod sweep;
mod table;
mod tolerance;
mod true_size;
mod tune;
mod units;
mod wall;
mod weld_figures;
