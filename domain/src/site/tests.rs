use super::{HEADCOUNTS_MAX, Headcount, People, SetSitePeople};
use crate::shop::given::{a_small_shop, name, refused};

fn set(shifts: &[&str], expected: Option<u64>) -> SetSitePeople {
    let headcount = shifts.iter().map(|shift| Headcount {
        shift: name(shift),
        people: 2,
    });
    SetSitePeople {
        people: People {
            headcount: headcount.collect(),
            inspectors: None,
        },
        expected,
    }
}

#[test]
fn each_rule_of_people_says_no_in_its_own_words() {
    let mut given = a_small_shop();
    let stale = Some(given.seq() + 7);
    let many: Vec<_> = (0..=HEADCOUNTS_MAX).map(|number| format!("S{number}")).collect();
    let many: Vec<_> = many.iter().map(String::as_str).collect();
    for (refusal, expected) in [
        (given.when(set(&["Early"], stale)), "site.stale"),
        (given.when(set(&many, None)), "site.too-many-headcounts"),
        (
            given.when(set(&["Early", "Late", "Early"], None)),
            "site.headcount-twice",
        ),
    ] {
        assert_eq!(refused(refusal), expected);
    }
    given.does(set(&["Early", "Late"], None));
    assert_eq!(given.shop.site.as_ref().unwrap().people.headcount.len(), 2);
}
