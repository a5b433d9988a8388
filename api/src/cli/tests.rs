use super::Cli;
use clap::CommandFactory;

/// Every command at the end of the tree, with its path.
fn leaves(command: &clap::Command, path: &str) -> Vec<(String, clap::Command)> {
    let path = format!("{path} {}", command.get_name()).trim_start().to_owned();
    let below = command
        .get_subcommands()
        .filter(|below| below.get_name() != "help");
    let leaves: Vec<_> = below.flat_map(|below| leaves(below, &path)).collect();
    if leaves.is_empty() {
        vec![(path, command.clone())]
    } else {
        leaves
    }
}

#[test]
fn the_command_line_holds_together() {
    Cli::command().debug_assert();
}

#[test]
fn every_command_has_an_example_that_is_its_own_and_says_its_exit_codes() {
    let leaves = leaves(&Cli::command(), "");
    assert!(leaves.len() > 15, "{}", leaves.len());
    for (path, mut command) in leaves {
        let help = command.render_help().to_string();
        let example = help.split("Example:\n").nth(1).unwrap_or_default();
        assert!(example.contains(&format!("  {path}")), "{path}:\n{help}");
        assert!(help.contains("Exit codes: 0 "), "{path}:\n{help}");
    }
}
