//! Arguments that may be left out.

use engine::script::{Function, bindings};

use super::{block, shown};

#[test]
fn everything_in_square_brackets_may_be_left_out() {
    let arity = |takes| {
        let call = |_: &engine::script::Args<'_>| Ok(engine::Found::stated(1_i64));
        Function { name: "any", takes, about: "", example: "", call }.arity()
    };
    // Several arguments in one pair of brackets, and each in its own.
    assert_eq!(arity("width, [gap, margin, end]"), (1, 4));
    assert_eq!(arity("width, [gap], [margin], [end]"), (1, 4));
    assert_eq!(arity("a, [b, [c]]"), (1, 3));
    assert_eq!(arity("[a, b]"), (0, 2));
    assert_eq!(arity("a, b"), (2, 2));
    assert_eq!(arity(""), (0, 0));
}

#[test]
fn a_function_is_called_with_as_few_arguments_as_it_needs() {
    for (call, part) in [
        ("sheet(\"adhesive\")", "grammage"),
        ("roll(50.inch)", "printable"),
        ("roll(50.inch, 0.25.inch)", "printable"),
        ("float_frame([72.inch, 24.inch], 0.25.inch, 0.75.inch, 0.77.inch)", "outside"),
        ("float_frame([72.inch, 24.inch], 0.25.inch, 0.75.inch, 0.77.inch, 0.5.inch)", "outside"),
        ("lift(35.lb, 15.inch, 27.inch, 17.inch)", "limit"),
        ("mat([20.inch, 16.inch], 4.inch)", "outside"),
        ("rabbet_frame([30.inch, 40.inch], 1.inch, 0.25.inch, 1.25.inch)", "outside"),
        ("dim_weight([80.inch, 32.inch, 6.inch], \"postal\")", "charged"),
    ] {
        let plan = block(&format!("let thing = {call};\nlet one = thing.{part};"));
        assert!(!shown(&plan, "one").is_empty(), "{call}");
    }
}

#[test]
fn every_function_is_called_with_its_fewest_and_its_most() {
    // An example takes between the fewest and the most, so a slip in the brackets is seen.
    for function in bindings::all() {
        let (fewest, most) = function.arity();
        assert!(fewest <= most && most <= 8, "{}", function.name);
        let (opened, closed) = (function.takes.matches('[').count(), function.takes.matches(']').count());
        assert_eq!(opened, closed, "{}", function.name);
    }
}
