//! Every refusal names file, line, column, key path, what was given and what is allowed.

use crate::{SMALL, edited};
use underfoot::Error;
use underfoot::job::Job;

fn refusal(text: &str) -> String {
    match Job::from_text(text, "job.toml") {
        Ok(_) => panic!("this job must be refused:\n{text}"),
        Err(error) => error.to_string(),
    }
}

#[test]
fn every_slip_is_refused_with_place_and_remedy() {
    for (from, to, message) in SLIPS {
        assert_eq!(refusal(&edited(from, to)), *message, "{from} -> {to}");
    }
}

#[test]
fn a_refusal_carries_its_place_as_fields() {
    let text = edited("center = [0, 0, \"1.5 m\"]", "center = [0, 0, \"12 kg\"]");
    match Job::from_text(&text, "job.toml") {
        Err(Error::Job { file, line, column, path, .. }) => {
            assert_eq!((&*file, line, column, &*path), ("job.toml", 6, 17, "machine.center[2]"));
        }
        other => panic!("{other:?}"),
    }
}

#[test]
fn a_job_without_mounts_is_refused() {
    let start = SMALL.find("[[mount]]").unwrap_or_default();
    let end = SMALL.find("[[point]]").unwrap_or_default();
    let none = SMALL.replace(&SMALL[start..end], "");
    let message = "mount: at least one mount is required; add a [[mount]] section";
    assert_eq!(refusal(&none), format!("job.toml:1:1: {message}"));
    let empty = none.replace("gravity = 9.81", "mount = []");
    assert_eq!(refusal(&empty), format!("job.toml:2:9: {message}"));
}

#[test]
fn columns_count_characters_and_a_byte_order_mark_does_not_count() {
    let text = "title = \"Müller's übergroß\" ; x";
    assert!(refusal(text).starts_with("job.toml:1:29: syntax: "), "{}", refusal(text));
    let marked = format!("\u{feff}{}", edited("title = \"small job\"", "title = 5"));
    assert!(refusal(&marked).starts_with("job.toml:1:9: title: "), "{}", refusal(&marked));
}

#[test]
fn windows_line_ends_keep_line_and_column() {
    let text = edited("to = 100", "to = \"5 kg\"").replace('\n', "\r\n");
    assert!(
        refusal(&text).starts_with("job.toml:45:6: transmissibility.to: "),
        "{}",
        refusal(&text)
    );
}

#[test]
fn a_text_without_keys_is_refused() {
    for text in ["", "  \n\n", "# only a comment\n", "\u{feff}"] {
        let message = "job.toml:1:1: file: is empty; `underfoot new JOB.toml` writes one";
        assert_eq!(refusal(text), message);
    }
}

#[test]
fn files_that_are_no_job_are_refused() {
    let folder = std::env::temp_dir().join(format!("underfoot-jobs-{}", std::process::id()));
    std::fs::create_dir_all(&folder).expect("a temporary folder");
    let write = |name: &str, bytes: &[u8]| {
        let path = folder.join(name);
        std::fs::write(&path, bytes).expect("a temporary file");
        path
    };
    let large = vec![b'#'; (4 << 20) + 1];
    for (path, problem) in [
        (folder.join("missing.toml"), "there is no such file"),
        (folder.clone(), "is a directory; give the path of a job file (TOML)"),
        (write("image.toml", b"\x89PNG\0\0"), "is a binary file; a job file is text (TOML)"),
        (
            write("latin.toml", b"# one\ntitle = \"M\xfcller\"\n"),
            "is not UTF-8 text (line 2); save it as UTF-8",
        ),
        (write("large.toml", &large), "is larger than 4 MiB; a job file has a few kB of text"),
    ] {
        let error = Job::load(&path).expect_err("not a job");
        let expected = Error::File { path: path.display().to_string(), problem: problem.into() };
        assert_eq!(error, expected);
    }
    let device = std::path::Path::new("/dev/zero");
    if device.exists() {
        let error = Job::load(device).expect_err("not a job").to_string();
        assert!(error.contains("is not a regular file"), "{error}");
    }
    let good = write("good.toml", SMALL.as_bytes());
    assert_eq!(Job::load(&good).map(|job| job.title), Ok("small job".into()));
    std::fs::remove_dir_all(&folder).expect("the temporary folder can go");
}

/// What is replaced in the small job, by what, and the message.
#[rustfmt::skip]
const SLIPS: &[(&str, &str, &str)] = &[
    (
        "stiffness = [1e6, 1e6, 4e6]",
        "stifness = [1e6, 1e6, 4e6]",
        "job.toml:22:1: mount[1].stifness: \"stifness\" is not a key here; did you mean \"stiffness\"? a list of three [kx, ky, kz] is required, here or in the model",
    ),
    (
        "title = \"small job\"",
        "",
        "job.toml:1:1: title: is missing; a text is required; write title = \"...\"",
    ),
    (
        "title = \"small job\"",
        "title = \" \"",
        "job.toml:1:9: title: is an empty text; write a few words",
    ),
    (
        "title = \"small job\"",
        "title = 5",
        "job.toml:1:9: title: is the number 5; expected a text in quotation marks",
    ),
    (
        "title = \"small job\"",
        "title = \"small job\"\nunit = \"us\"",
        "job.toml:2:1: unit: \"unit\" is not a key here; did you mean \"units\"? allowed: title, units, gravity, machine, press, mount_model, mount, options, bridge, what_if_bridged, stop, point, case, die, bolster, set_down, cart, shock, emergency_stop, slide, break_through, transmissibility, harmonic, drive_train, rotating, blow, decompression, screw_blow, floor_shock, record, statics, condition, leveling, limits, interface, height, duty",
    ),
    (
        "title = \"small job\"",
        "title = \"small job\"\nunits = \"US\"",
        "job.toml:2:9: units: \"US\" is not known; did you mean \"us\"? allowed: \"si\", \"us\"",
    ),
    (
        "gravity = 9.81",
        "gravity = -9.81",
        "job.toml:2:11: gravity: -9.81 m/s^2: must be greater than zero; check the sign and the unit",
    ),
    (
        "gravity = 9.81",
        "gravity = nan",
        "job.toml:2:11: gravity: is NaN; an acceleration must be a finite number",
    ),
    (
        "gravity = 9.81",
        "gravity = inf",
        "job.toml:2:11: gravity: is inf; an acceleration must be a finite number",
    ),
    (
        "gravity = 9.81",
        "gravity = 1e999",
        "job.toml:2:11: gravity: is inf; an acceleration must be a finite number",
    ),
    (
        "gravity = 9.81",
        "gravity = true",
        "job.toml:2:11: gravity: is true; expected an acceleration (a number in m/s^2, a text such as \"0.5 g_n\" or \"5 m/s^2\", or { value = ..., band = ... })",
    ),
    (
        "gravity = 9.81",
        "gravity = 2020-01-01",
        "job.toml:2:11: gravity: is the date 2020-01-01; expected an acceleration (a number in m/s^2, a text such as \"0.5 g_n\" or \"5 m/s^2\", or { value = ..., band = ... })",
    ),
    (
        "gravity = 9.81",
        "gravity = 9.81.2",
        "job.toml:2:15: syntax: invalid float, expected nothing",
    ),
    (
        "gravity = 9.81",
        "gravity = \"1 g\"",
        "job.toml:2:11: gravity: \"1 g\": this is a mass, but an acceleration is expected; \"g\" is the gram: write \"g_n\" for standard gravity",
    ),
    (
        "center = [0, 0, \"1.5 m\"]",
        "center = [0, 0, \"12 kg\"]",
        "job.toml:6:17: machine.center[2]: \"12 kg\": this is a mass, but a length is expected; write for example \"14 in\" or \"0.35 m\"",
    ),
    (
        "center = [0, 0, \"1.5 m\"]",
        "center = [0, \"1.5 m\"]",
        "job.toml:6:10: machine.center: is a list of 2; expected a list of three [x, y, z], each a length",
    ),
    (
        "center = [0, 0, \"1.5 m\"]",
        "center = 1.5",
        "job.toml:6:10: machine.center: is the number 1.5; expected a list of three [x, y, z], each a length",
    ),
    (
        "center = [0, 0, \"1.5 m\"]",
        "center = [0, [0], 0]",
        "job.toml:6:14: machine.center[1]: is a list of 1; expected a length (a number in m, a text such as \"14 in\" or \"0.35 m\", or { value = ..., band = ... })",
    ),
    (
        "center = [0, 0, \"1.5 m\"]",
        "center = [0, nan, 0]",
        "job.toml:6:14: machine.center[1]: is NaN; a length must be a finite number",
    ),
    (
        "mass = \"10 t\"",
        "mass = \"10,000 lb\"",
        "job.toml:5:8: machine.mass: \"10,000 lb\": a comma in a number is ambiguous; write \"10 000\" or \"10000\" for thousands or \"10.000\" for decimals",
    ),
    (
        "mass = \"10 t\"",
        "mass = \"10 ton\"",
        "job.toml:5:8: machine.mass: \"10 ton\": \"ton\" is ambiguous; write \"short_ton\" (2000 lb), \"long_ton\" (2240 lb) or \"t\" (1000 kg) for mass, \"tonf\" (2000 lbf) or \"tf\" (1000 kgf) for force",
    ),
    (
        "mass = \"10 t\"",
        "",
        "job.toml:4:1: machine.mass: is missing; a mass is required, such as \"92 000 lb\" or \"42 t\"",
    ),
    (
        "mass = \"10 t\"",
        "mass = 0",
        "job.toml:5:8: machine.mass: 0 kg: must be greater than zero; check the sign and the unit",
    ),
    (
        "mass = \"10 t\"",
        "mass = { value = \"10 t\", band = \"-5 %\" }",
        "job.toml:5:33: machine.mass.band: -0.05: a band is a half-width, not negative; write band = \"10 %\"",
    ),
    (
        "mass = \"10 t\"",
        "mass = { value = \"10 t\", band = \"150 %\" }",
        "job.toml:5:33: machine.mass.band: 150 %: a relative band must be below 100 %; give low = ... and high = ...",
    ),
    (
        "mass = \"10 t\"",
        "mass = { value = \"10 t\", band = \"1 kN\" }",
        "job.toml:5:33: machine.mass.band: \"1 kN\": this is a force, but a mass is expected; write for example \"92 000 lb\" or \"42 t\"",
    ),
    (
        "mass = \"10 t\"",
        "mass = { value = \"10 t\", band = 0.1, low = \"9 t\" }",
        "job.toml:5:33: machine.mass.band: give either band, or low and high",
    ),
    (
        "mass = \"10 t\"",
        "mass = { value = \"10 t\", low = \"11 t\" }",
        "job.toml:5:8: machine.mass: the value 10000 lies outside its band from 11000 to 10000 kg; check low and high",
    ),
    (
        "mass = \"10 t\"",
        "mass = { value = \"10 t\", bands = 0.1 }",
        "job.toml:5:26: machine.mass.bands: \"bands\" is not a key here; did you mean \"band\"? allowed: value, low, high, band, source, assumed, confirm",
    ),
    (
        "mass = \"10 t\"",
        "mass = { band = 0.1 }",
        "job.toml:5:8: machine.mass.value: is missing; a mass is required, such as \"92 000 lb\" or \"42 t\"",
    ),
    (
        "mass = \"10 t\"",
        "mass = \"10 t\"\npart = [{ kind = \"point\", mass = 1, center = [0, 0, 0] }]",
        "job.toml:5:8: machine.mass: give either mass, center and inertia, or parts, not both",
    ),
    (
        "inertia = [9000, 8000, 5000]",
        "inertia = [9000, 1000, 5000]",
        "job.toml:7:11: machine.inertia: [[9000, 0, 0], [0, 1000, 0], [0, 0, 5000]] kg m^2 (principal moments 1000.000000, 5000.000000, 9000.000000): no principal moment may exceed the sum of the other two (triangle inequality); check units and the point of reference: the tensor is about the center of mass",
    ),
    (
        "inertia = [9000, 8000, 5000]",
        "inertia = [[9000, 1, 0], [0, 8000, 0], [0, 0, 5000]]",
        "job.toml:7:27: machine.inertia[1][0]: 0 kg m^2 differs from element [0][1], 1 kg m^2: the tensor must be symmetric; give J_xy = J_yx = minus the product of inertia",
    ),
    (
        "inertia = [9000, 8000, 5000]",
        "inertia = [[9000, 0], [0, 8000]]",
        "job.toml:7:11: machine.inertia: is a list of 2; expected three rows of three",
    ),
    (
        "inertia = [9000, 8000, 5000]",
        "inertia = { value = [9000, 8000, 5000], band = \"5 kg m^2\" }",
        "job.toml:7:11: machine.inertia: the band of a list is relative: write band = \"10 %\", or give each element its own band",
    ),
    (
        "inertia = [9000, 8000, 5000]",
        "inertia = [9000, 8000]",
        "job.toml:7:11: machine.inertia: is a list of 2; expected a list of three [x, y, z], each a moment of inertia",
    ),
    (
        "model = \"pad\"",
        "model = \"pat\"",
        "job.toml:16:9: mount[0].model: \"pat\" is not known; did you mean \"pad\"? [[mount_model]] names are \"pad\"",
    ),
    (
        "name = \"right\"",
        "name = \"left\"",
        "job.toml:21:8: mount[1].name: \"left\" is also the name of mount[0]; names must differ",
    ),
    (
        "damping = \"3 kN s/m\"",
        "damping = -3",
        "job.toml:23:11: mount[1].damping[0]: -3 N s/m: must not be negative; check the sign and the unit",
    ),
    (
        "damping = \"3 kN s/m\"",
        "damping = [1, 2]",
        "job.toml:23:11: mount[1].damping: is a list of 2; expected a list of three [x, y, z], each a viscous damping",
    ),
    (
        "damping = \"3 kN s/m\"",
        "load_range = { min = 5, max = 3 }",
        "job.toml:23:31: mount[1].load_range.max: 3 N: must not be less than min (5 N); swap the limits",
    ),
    (
        "damping = \"3 kN s/m\"",
        "load_range = { mim = 5 }",
        "job.toml:23:16: mount[1].load_range.mim: \"mim\" is not a key here; did you mean \"min\"? allowed: min, max, dynamic_max",
    ),
    (
        "damping = \"3 kN s/m\"",
        "turn = 5",
        "job.toml:23:8: mount[1].turn: is the number 5; expected a list of three [x, y, z], each an angle or slope",
    ),
    (
        "stiffness = [1e6, 1e6, 4e6]",
        "",
        "job.toml:20:1: mount[1].stiffness: is missing; a list of three [kx, ky, kz] is required, here or in the model",
    ),
    (
        "stiffness = [1e6, 1e6, 4e6]",
        "stiffness = [0, 0, 0]",
        "job.toml:22:13: mount[1].stiffness: is zero in every direction; the mount holds nothing",
    ),
    (
        "stiffness = [1e6, 1e6, 4e6]",
        "stiffness = [1e6, 1e6, \"4e6 lb/in\"]",
        "job.toml:22:24: mount[1].stiffness[2]: \"4e6 lb/in\": this is in kg m^-1, but a stiffness is expected; \"lb\" is a mass: write \"lbf\"",
    ),
    (
        "kind = \"point\"",
        "kind = \"ball\"",
        "job.toml:32:17: case[0].add[0].kind: \"ball\" is not known; allowed: \"box\", \"cylinder\", \"point\", \"body\"",
    ),
    (
        "kind = \"point\"",
        "kind = \"box\"",
        "job.toml:32:8: case[0].add[0].size: is missing; a list of three [x, y, z] is required",
    ),
    (
        "add = [",
        "remove = [{ kind = \"point\", mass = \"11 t\", center = [0, 0, 1] }]\nadd = [",
        "job.toml:32:10: case[0].remove: parts = 11000 kg: must weigh less than the body (10000 kg); remove only what the body contains",
    ),
    (
        "pulse = \"half_sine\"",
        "pulse = \"halfsine\"",
        "job.toml:36:9: shock[0].pulse: \"halfsine\" is not known; did you mean \"half_sine\"? allowed: \"half_sine\", \"haversine\", \"rectangular\", \"triangular\", \"initial_peak_sawtooth\", \"terminal_peak_sawtooth\", \"ramp_step\", \"exponential_decay\"",
    ),
    (
        "pulse = \"half_sine\"",
        "pulse = \"ramp_step\"",
        "job.toml:34:1: shock[0].rise: is missing; a time is required, such as \"5 ms\" or \"0.02 s\"",
    ),
    (
        "duration = \"10 ms\"",
        "duration = 0",
        "job.toml:38:12: shock[0].duration: 0 s: must be greater than zero; check the sign and the unit",
    ),
    (
        "peak = \"100 kN\"",
        "peak = \"100 kip/in\"",
        "job.toml:37:8: shock[0].peak: \"100 kip/in\": this is a stiffness, but a force is expected; write for example \"200 tonf\" or \"1.8 MN\"",
    ),
    (
        "direction = \"-z\"",
        "direction = \"up\"",
        "job.toml:39:13: shock[0].direction: is the text \"up\"; expected \"x\", \"-x\", \"y\", \"-y\", \"z\", \"-z\" or a unit vector",
    ),
    (
        "direction = \"-z\"",
        "direction = [1, 1, 0]",
        "job.toml:39:13: shock[0].direction: has length 1.4142135623730951; a unit vector is required; write [0.7071067811865475, 0.7071067811865475, 0]",
    ),
    (
        "direction = \"-z\"",
        "direction = [0, 0, 0]",
        "job.toml:39:13: shock[0].direction: has length 0; a unit vector is required; give a direction",
    ),
    (
        "at = \"bolster\"",
        "at = \"bolsters\"",
        "job.toml:40:6: shock[0].at: \"bolsters\" is not known; did you mean \"bolster\"? [[point]] names are \"bolster\"",
    ),
    (
        "case = \"die\"",
        "case = \"dye\"",
        "job.toml:41:8: shock[0].case: \"dye\" is not known; did you mean \"die\"? [[case]] names are \"die\"",
    ),
    (
        "to = 100",
        "to = 1",
        "job.toml:45:6: transmissibility.to: 1 Hz: must be greater than from (1 Hz); check both",
    ),
    (
        "points = 50",
        "points = 1",
        "job.toml:46:10: transmissibility.points: is the number 1; expected a whole number of at least 2",
    ),
    (
        "points = 50",
        "points = 50.0",
        "job.toml:46:10: transmissibility.points: is the number 50.0; expected a whole number of at least 2",
    ),
    (
        "points = 50",
        "points = 1000000",
        "job.toml:46:10: transmissibility.points: 1000000: at most 100000 are computed in a job",
    ),
    (
        "tilt = \"0.5 mm/m\"",
        "tilt = \"0.5 mm\"",
        "job.toml:49:8: limits.tilt: \"0.5 mm\": this is a length, but an angle or slope is expected; write for example \"30 deg\", \"0.5 mm/m\" or \"0.006 in/ft\"",
    ),
    (
        "tilt = \"0.5 mm/m\"",
        "tilt = 0",
        "job.toml:49:8: limits.tilt: 0 rad: must be greater than zero; check the sign and the unit",
    ),
    (
        "[limits]",
        "[statics]\nunilateral = \"yes\"\n[limits]",
        "job.toml:49:14: statics.unilateral: is the text \"yes\"; expected true or false",
    ),
    (
        "[limits]",
        "[[harmonic]]\nname = \"e\"\nfrequency = 5\n[limits]",
        "job.toml:48:1: harmonic[0].force: is missing; a force or a moment is required",
    ),
    (
        "[limits]",
        "[limit]",
        "job.toml:48:2: limit: \"limit\" is not a key here; did you mean \"limits\"? allowed: title, units, gravity, machine, press, mount_model, mount, options, bridge, what_if_bridged, stop, point, case, die, bolster, set_down, cart, shock, emergency_stop, slide, break_through, transmissibility, harmonic, drive_train, rotating, blow, decompression, screw_blow, floor_shock, record, statics, condition, leveling, limits, interface, height, duty",
    ),
    (
        "[machine]",
        "[[machine]]",
        "job.toml:4:1: machine: is a list of 1; expected a [machine] section",
    ),
    (
        "[[point]]",
        "[point]",
        "job.toml:26:1: point: is a table; expected a list of tables, such as [[point]] sections",
    ),
    (
        "[limits]",
        "[limits",
        "job.toml:48:8: syntax: unclosed table, expected `]`",
    ),
    (
        "gravity = 9.81",
        "gravity = 9.81\ngravity = 9.80",
        "job.toml:3:1: syntax: duplicate key",
    ),
    (
        "[[mount_model]]",
        "[[mount.x]]",
        "job.toml:14:3: syntax: duplicate key",
    ),
    (
        "mass = \"10 t\"",
        "mas = \"10 t\"",
        "job.toml:5:1: machine.mas: \"mas\" is not a key here; did you mean \"mass\"? a mass is required, such as \"92 000 lb\" or \"42 t\"",
    ),
    (
        "mass = \"10 t\"",
        "mass = { value = { value = 1 } }",
        "job.toml:5:18: machine.mass.value: is a table; expected a mass (a number in kg, a text such as \"92 000 lb\" or \"42 t\", or { value = ..., band = ... })",
    ),
    (
        "[0, 0, 1.2]",
        "[0, 0, \"1,2 m\"]",
        "job.toml:32:56: case[0].add[0].center[2]: \"1,2 m\": a comma in a number is ambiguous; write \"1.2\" for decimals",
    ),
    (
        "stiffness = [1e6, 1e6, 3e6]",
        "stiffness = { value = [1e6, 1e6], band = 0.1 }",
        "job.toml:11:23: mount_model[0].stiffness.value: is a list of 2; expected a list of three [x, y, z], each a stiffness",
    ),
    (
        "loss_factor = 0.1",
        "loss_factor = \"5 deg\"",
        "job.toml:12:15: mount_model[0].loss_factor: \"5 deg\": this is an angle or slope, but a plain ratio is expected; write for example \"10 %\" or 0.1",
    ),
    (
        "loss_factor = 0.1",
        "los_factor = 0.1",
        "job.toml:12:1: mount_model[0].los_factor: \"los_factor\" is not a key here; did you mean \"loss_factor\"? allowed: name, stiffness, static_stiffness, damping, loss_factor, rotational_stiffness, load_range, screw, law, law_scale, law_x, law_y, law_z, allowed, creep_per_decade, curve, dynamic_ratio, rubber, spring, air_spring, damper, arrangement, price, height, footprint",
    ),
    (
        "name = \"bolster\"",
        "",
        "job.toml:26:1: point[0].name: is missing; a text is required; write name = \"...\"",
    ),
    (
        "name = \"bolster\"",
        "name = 7",
        "job.toml:27:8: point[0].name: is the number 7; expected a text in quotation marks",
    ),
];
