//! Shares of one of several equal springs in curve and space.

use super::*;

fn asked() -> (TargetCurve, Brief) {
    let target = TargetCurve {
        deflection: vec![0.0, 3.0, 6.0],
        force: vec![0.0, 30.0, 90.0],
        force_min: Some(vec![0.0, 24.0, 84.0]),
        force_max: Some(vec![6.0, 36.0, 96.0]),
        ..TargetCurve::default()
    };
    let text = "[envelope]\nfree_height_max = 12\nsolid_height_max = 6\n[duty]\ninstalled = 1.5\nstroke_start = 3\n\
        stroke_end = 6\ncycles = 10000\ncarried_mass = 3\nworking_deflection = 4.5\n";
    (target, Brief::parse(text, "brief.toml").unwrap())
}

#[test]
fn springs_back_to_back_share_every_length_and_carry_all_the_force() {
    let (target, brief) = asked();
    let (share, room) = Arrangement::Series.share(&target, &brief, 3);
    assert_eq!((share.deflection, share.force), (vec![0.0, 1.0, 2.0], target.force));
    assert_eq!((share.force_min, share.force_max), (target.force_min, target.force_max));
    assert_eq!((room.envelope.free_height_max, room.envelope.solid_height_max), (Some(4.0), Some(2.0)));
    let duty = room.duty;
    assert_eq!((duty.installed, duty.stroke_start, duty.stroke_end), (Some(0.5), Some(1.0), Some(2.0)));
    assert_eq!((duty.working_deflection, duty.carried_mass, duty.cycles), (Some(1.5), Some(3.0), 1e4));
}

#[test]
fn springs_side_by_side_share_the_force_and_keep_every_length() {
    let (target, brief) = asked();
    let (share, room) = Arrangement::Parallel.share(&target, &brief, 3);
    assert_eq!((share.deflection, share.force), (target.deflection, vec![0.0, 10.0, 30.0]));
    assert_eq!((share.force_min, share.force_max), (Some(vec![0.0, 8.0, 28.0]), Some(vec![2.0, 12.0, 32.0])));
    assert_eq!(room.envelope, brief.envelope);
    assert_eq!(room.duty.carried_mass, Some(1.0));
    assert_eq!((room.duty.installed, room.duty.stroke_end), (brief.duty.installed, brief.duty.stroke_end));
}
