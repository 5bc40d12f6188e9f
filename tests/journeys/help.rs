//! What `--help` says: changed only on purpose.

use super::sixfold;

fn check(command: &str, arguments: &[&str]) {
    let run = sixfold(arguments);
    assert_eq!(run.status, 0, "{}", run.problems);
    insta::assert_snapshot!(command, run.out);
}

#[test]
fn help() {
    check("sixfold", &["--help"]);
    check("read", &["read", "--help"]);
    check("calibrate", &["calibrate", "--help"]);
    check("diagnose", &["diagnose", "--help"]);
    check("route", &["route", "--help"]);
    check("sequence", &["sequence", "--help"]);
    check("cases", &["cases", "--help"]);
    check("lesson", &["lesson", "--help"]);
}
