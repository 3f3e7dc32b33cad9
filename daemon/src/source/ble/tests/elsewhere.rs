//! What systems do that the program is not compiled for here.

use super::*;

/// Windows remembers a sensor's services, and no program can make it forget them.
#[tokio::test(start_paused = true)]
async fn one_whose_services_are_remembered_for_ever_is_tried_rarely_and_taken_once_they_are_right()
{
    let fake = Fake::new(&IDS);
    {
        let mut world = fake.world();
        world.devices[0].lacks_data = true;
        world.devices[0].remembered = true;
    }
    let mut running = Running::start(&fake, 2, 65_536);
    let events = running.hear_for(60.0).await;
    let failed = |news: &&News| matches!(news, News::Failed(Trouble::Lacks(_)));
    let times = states(&events, LEFT).iter().filter(failed).count();
    assert!((2..=4).contains(&times), "{times}");
    // The other one is not held up.
    assert!(notifications(&events, SensorRole::ALL[1]) > 5_000);
    fake.world().devices[0].lacks_data = false;
    let events = running.hear_for(40.0).await;
    assert_eq!(states(&events, LEFT).last(), Some(&News::Streaming));
    running.end().await;
}

/// Windows connects some sensors only once they are paired in its settings.
#[tokio::test(start_paused = true)]
async fn one_that_is_not_paired_leaves_the_others_alone() {
    let fake = Fake::new(&IDS);
    fake.world().devices[0].unpaired = true;
    let mut running = Running::start(&fake, 3, 65_536);
    let events = running.hear_for(120.0).await;
    let last = states(&events, LEFT).last().cloned();
    assert_eq!(last, Some(News::GivenUp(Trouble::Authentication)));
    assert!(Trouble::Authentication.to_string().contains("pair again"));
    for role in [SensorRole::ALL[1], SensorRole::ALL[2]] {
        assert!(notifications(&events, role) > 11_000, "{role}");
        assert_eq!(states(&events, role).last(), Some(&News::Streaming));
    }
    assert!(states(&running.hear_for(60.0).await, LEFT).is_empty());
    running.end().await;
}
