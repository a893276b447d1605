use std::time::Instant;
#[test]
fn zz_time() {
    let t = Instant::now();
    let job = crate::read(underfoot::job::template());
    println!("read {:?}", t.elapsed());
    let t = Instant::now();
    for i in &job.inputs[..10] {
        let _ = job.with_input(&i.path, i.value);
    }
    println!("lower x10 {:?} of {} inputs", t.elapsed(), job.inputs.len());
    for e in &job.events {
        let t = Instant::now();
        let options = underfoot::analysis::transient::ShockOptions {
            dt: Some(f64::MAX),
            ..Default::default()
        };
        let r = underfoot::study::event_of(&job.installation, &job.statics, e, &options);
        let n = match &e.load {
            underfoot::job::EventLoad::Acting(x) => {
                x.actions.iter().map(|a| a.segments.len()).sum()
            }
            _ => 0usize,
        };
        println!(
            "{}: {:?} {} segments {:?}",
            e.name,
            t.elapsed(),
            n,
            r.map(|r| r.shock.transient.duration)
        );
    }
    let t = Instant::now();
    let a = underfoot::study::AsGiven::of(&job).unwrap();
    println!("as given {:?} {} figures {} checks", t.elapsed(), a.figures.len(), a.checks.len());
    println!("banded {}", job.banded().count());
}
