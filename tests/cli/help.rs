//! Help of every command, and every command and option that a document or a message names.

use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::path::Path;

use crate::documents::{blocks, documents, sources};
use crate::program::run;

/// Every command with its options, as its help lists them.
struct Commands(BTreeMap<String, BTreeSet<String>>);

impl Commands {
    fn read() -> Self {
        let help = run("--help").ends_with(0).out;
        let listed = help.lines().skip_while(|line| *line != "Commands:").skip(1).take_while(|line| !line.is_empty());
        let names = listed.filter_map(|line| line.split_whitespace().next()).filter(|name| *name != "help");
        Self(names.map(|name| (name.to_owned(), options_of(name))).collect())
    }

    fn any_has(&self, option: &str) -> bool {
        self.0.values().any(|options| options.contains(option))
    }

    /// The first thing in a command line, `hubtrace` left out, that the program does not know.
    fn unknown_in(&self, line: &str) -> Option<String> {
        let command = line.split_whitespace().next().filter(|word| !word.starts_with('-'));
        match command.map(|command| self.0.get(command)) {
            Some(None) => command.map(str::to_owned),
            Some(Some(options)) => options_in(line).into_iter().find(|option| !options.contains(option)),
            None => options_in(line).into_iter().find(|option| !["--help", "--version"].contains(&option.as_str())),
        }
    }
}

/// The options in the help of one command.
fn options_of(command: &str) -> BTreeSet<String> {
    let help = run(&format!("{command} --help")).ends_with(0).out;
    help.lines().filter(|line| line.trim().starts_with('-')).flat_map(options_in).collect()
}

/// The long options in a text: `--out`, `--last`.
fn options_in(text: &str) -> Vec<String> {
    let words = text.split(|c: char| !(c.is_ascii_lowercase() || c == '-'));
    words.filter(|word| word.starts_with("--") && word.len() > 2).map(str::to_owned).collect()
}

/// What a text of Markdown sets as code: whole lines of its blocks, and its spans.
fn code(text: &str) -> Vec<String> {
    let lines = blocks(text).into_iter().flat_map(|(_, lines)| lines);
    let prose: String = text.split("```").step_by(2).collect();
    let spans = prose.split('`').skip(1).step_by(2).map(|span| span.split_whitespace().collect::<Vec<_>>().join(" "));
    lines.map(|line| line.trim_start_matches("$ ").to_owned()).chain(spans).collect()
}

#[test]
fn every_command_explains_itself_and_each_of_its_options() {
    for command in Commands::read().0.keys() {
        let long = run(&format!("{command} --help")).ends_with(0).out;
        assert!(long.contains(&format!("\nUsage: hubtrace {command}")), "{long}");
        assert!(long.lines().next().is_some_and(|first| first.len() > 30), "{long}");
        assert_eq!(run(&format!("help {command}")).ends_with(0).out, long);
        let lines: Vec<&str> = long.lines().collect();
        for pair in lines.windows(2).filter(|pair| pair[0].trim().starts_with('-')) {
            let beside = pair[0].trim().split_once("  ").map_or("", |(_, words)| words);
            assert!(beside.len() > 8 || pair[1].trim().len() > 8, "{command}: {}", pair[0]);
        }
    }
}

#[test]
fn every_command_and_option_that_a_document_names_is_there() {
    let commands = Commands::read();
    let mut named = 0;
    for document in documents() {
        let text = fs::read_to_string(&document).expect("a document");
        for code in code(&text) {
            let line = match code.split_once(' ') {
                Some(("hubtrace", rest)) => rest,
                Some(("cargo", rest)) if rest.starts_with("run") && !rest.contains(" --example ") => {
                    rest.split_once(" -- ").map_or("", |(_, line)| line)
                }
                _ if code.starts_with("--") => {
                    let option = &options_in(&code)[0];
                    assert!(commands.any_has(option), "{}: `{code}`", document.display());
                    named += 1;
                    continue;
                }
                _ => continue,
            };
            let unknown = commands.unknown_in(line);
            assert_eq!(unknown, None, "{}: `{code}`", document.display());
            named += usize::from(!line.is_empty());
        }
    }
    assert!(named > 20, "only {named} commands and options found");
}

#[test]
fn every_option_that_a_message_names_is_there() {
    let commands = Commands::read();
    let mut named = 0;
    for source in sources(Path::new("src")) {
        for option in options_in(&fs::read_to_string(&source).expect("a source file")) {
            assert!(commands.any_has(&option), "{} names {option}", source.display());
            named += 1;
        }
    }
    assert!(named > 15, "only {named} found");
}
