# Lean at idle for two reasons, one behind the other: a cracked boot, and a blocked pilot jet. The first
# repair is proven for itself; the complaint is still there, so the job stays open. Closed when it was
# repeated and is gone.
start --machine twin
ask What does it do wrong
say will-not-idle
ask Which tools
say all
ask history
say refitted
ask What holds at this moment
say it-runs, rideable, engine-hot, battery-charged
see Step 1:
say do part-choke-warm
ask Warm engine, a little choke
say better
see Understood
say do leak-search
ask Mist along the intake (
say changes 1
see Understood
say do boots-and-clamps
ask Boots and clamps (
say 1:cracked 2:ok
see Now: intake boot cracked or perished
say do renew-intake-boots@1
ask Note before the work: Hoses
say 1 tank vent, 2 vacuum to the tap
ask Note before the work: Balance
say don't know
ask Note before the work: Idle stop
say 1150
ask Note before the work: Throttle sensor, closed
say 0.82
ask Note before the work: Cable play
say 3
ask Is the work done
say yes
see Put back: Hoses.
see To be closed up first: carburettors on the bench
ask now it is
say go
see Put back: Idle stop.
ask now it is
say 1250
see Put back: Throttle sensor, closed.
ask now it is
say 0.7
see NOTICE: 0.7 is outside its limit, 0.76 to 0.88 kohm.
ask Cable play was 3; now it is
say 3
see Throttle sensor, closed 0.82 0.7 0.76 to 0.88 kohm OUTSIDE
see NOTICE: Not noted before the work, so to be set anew: Balance.
ask Mist along the intake (
# It was set again since: changed in its place, while something else is asked.
say change throttle-sensor=0.82
see Changed: Throttle sensor, closed, as left: 0.82 (was: 0.7).
ask Mist along the intake (
say none
ask Boots and clamps, carburettor 1 (
say ok
ask Vacuum at idle
say 210 214
ask How fast the revs fall
say 1.1
ask Is it still there
# Proven it is not, and fitting a part closes nothing.
say yes
see Still there: what was measured before the work describes the bike as it was then
say finish
ask Close the job as
say proven
see Not proven: the complaint has not been repeated after the work and found gone.
ask Close the job as
say look-on
ask Still step
say do drop-test
ask Short each plug in turn (
say 400 30
see 2: 30 rpm (+/- 30): outside
say do mixture-response
ask Mixture screws, a quarter turn each (
say no-response 2
see Now: pilot jet blocked or varnished
say do clean-one-pilot-jet@2
ask Note before the work: Mixture screw, carburettor 2
say 2 1/4
ask Note before the work: Jet numbers, carburettor 2
say 38
ask litres of water in it
say 3.5
see Never put petrol
see 3.5 L of water and 105 mL of concentrate
see 200 to 400 kPa
ask Is the work done
say timer 15 bath
see Timer, bath: 15 min left.
say yes
ask Pilot jets against the light, carburettor 2 (
say ok
see Put back: Jet numbers.
ask now it is
say go
see Put back: Mixture screw.
ask now it is
say go
see Put back: Hoses.
ask now it is
say go
ask Idle stop was 1150; now it is
say 1250
ask Throttle sensor, closed was 0.82; now it is
say 0.82
ask Cable play was 3; now it is
say 3
see Throttle sensor, closed 0.82 0.82 0.76 to 0.88 kohm
ask Mixture screws, a quarter turn each, carburettor 2 (
say 4
ask Is it still there
say no
ask Close the job as
say proven
ask What proves it
say idles hot without choke for ten minutes
ask Why did it happen
say boot perished, fuel left in over winter
see Closed: proven
end 0
sheet State: closed: proven
sheet DONE: Renew the intake boots as a set, carburettor 1.
sheet DONE: Clean the pilot circuit of that carburettor, carburettor 2.
sheet Mixture screw, carburettor 2 2 1/4 2 1/4
sheet Complaint repeated: yes, and it is gone.
page boot perished, fuel left in over winter
