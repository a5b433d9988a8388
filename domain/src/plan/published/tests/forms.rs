use crate::plan::published::forms::read;

fn refused(text: &str) -> String {
    read("a", text).unwrap_err().to_string()
}

#[test]
fn what_is_wrong_in_a_file_is_named_with_its_place() {
    let pool = |loads: &str, rest: &str| {
        format!(
            r#"{{"loads":[{loads}],"pallets":1,"fixtures":{{"A":1}},"attended":[[0,9]],"start":0{rest}}}"#
        )
    };
    let load = |fixture: &str, cut: &str| {
        format!(r#"{{"id":0,"fixture":"{fixture}","setup":1,"cut":{cut},"unload":1,"weight":1,"due":1}}"#)
    };
    assert_eq!(read("a", &pool(&load("A", "1"), "")).unwrap().len(), 1);
    for (text, said) in [
        ("{".to_owned(), "this is no JSON"),
        ("{}".to_owned(), "neither `loads`"),
        (
            r#"{"instances":[]}"#.to_owned(),
            "/instances: a list or an object of 1 to",
        ),
        (
            r#"{"instances":[{"i":4,"p":[1],"w":[1],"d":[1,2]}]}"#.to_owned(),
            "/instances/4/d: 2 numbers for 1 jobs",
        ),
        (
            r#"{"instances":[{"i":4,"p":[1],"w":[-1],"d":[1]}]}"#.to_owned(),
            "/instances/4/w/0: -1, but 0 to",
        ),
        (
            r#"{"instances":[{"i":4,"x":1}]}"#.to_owned(),
            "/instances/4: `p`, `w`, `d`",
        ),
        (
            r#"{"instances":[{"i":4,"p":[1],"w":[1],"d":[1],"s":[[0,1,5]]}]}"#.to_owned(),
            "/instances/4/s/0: jobs are numbered from 0 to 0",
        ),
        (
            r#"{"instances":{"a":{"machines":[[0,1]],"durations":[[5]]}}}"#.to_owned(),
            "/instances/a: `machines` and `durations` need one number",
        ),
        (
            r#"{"instances":{"a":{"machines":2,"jobs":[[[[2,5]]]]}}}"#.to_owned(),
            "/instances/a/jobs/0/0: 1 to",
        ),
        (pool("", ""), "/loads: 1 to"),
        (
            pool(&load("B", "1"), ""),
            "/loads/0/fixture: there is no such fixture",
        ),
        (pool(&load("A", "-4"), ""), "/loads/0/cut: -4, but 0 to"),
    ] {
        let found = refused(&text);
        assert!(found.starts_with(said) || found.contains(said), "{found}");
    }
}
