# It floods. A new needle does not cure it: the float is heavy. Three sittings; the second is cut short
# by the laptop. Nothing that was said is lost or asked again.
start
ask Which machine
say four
ask What does it do wrong
say flooding
ask Which tools
say all
ask history
say none
ask What holds at this moment
say failing-now, battery-charged
say do where-wet
see DANGER: Petrol. No flame
ask Where is it wet (
say overflow-pipe 3
see Understood: the overflow pipe, carburettor 3.
say do wet-with-tap-off
ask Wet with the tap off as well (
say dry
see Understood: dry.
say do fuel-level
ask Fuel level by clear tube (
say 5.0 5.2 4.1 4.9
see Understood
# A slip: carburettor 3 stood at 1.4. Changed in its place, the rest stays.
say change fuel-level=5.0 5.2 1.4 4.9
see Changed: Fuel level by clear tube: 5.0 5.2 1.4 4.9 (was: 5.0 5.2 4.1 4.9).
see Everything said after it stands.
# The wrong part. What is disturbed is noted first.
say do renew-float-needle@3
see DANGER: Petrol runs out:
ask Note before the work: Hoses
say 1 vent left, 2 overflow, 3 fuel, 4 to the tap
ask Note before the work: Balance
say can't
ask Note before the work: Float height, carburettor 3
say 13.5
ask Is the work done
say yes
see Noted as done. Now it has to be proven.
ask Do needle and seat hold, carburettor 3 (
say 0.3
see Put back: Float height.
ask now it is
stop

# The second sitting goes on with that very question.
start resume
see Complaint: Fuel overflows (flooding).
see Fuel level by clear tube: 5.0 5.2 1.4 4.9
see Done: Renew float needle and seat as a pair.
see Put back: Float height.
ask now it is (Enter = as found
say go
see Put back: Hoses.
see To be closed up first: float-bowl covers off and carburettors on the bench
ask now it is
say go
see Hoses: as found: 1 vent left, 2 overflow, 3 fuel, 4 to the tap; as left: 1 vent left
see NOTICE: Not noted before the work, so to be set anew: Balance, Idle stop
ask Watch the overflows with the tap open (
say runs 3
see not as it should be after the work. The search goes on from here.
ask Float height at both lobes
say timer 90 cleaner soaks
see Timer, cleaner soaks: 1 h 30 min left.
say do float-weight
ask Note before the work: Float height
say 13.5 13.4 13.5 13.5
ask Float: weight and bubbles (
say heavy 3
see Now: float holed or soaked (heavy), carburettor 3
say do renew-float@3
ask Is the work done
kill

# The third: nothing acknowledged is lost, and the timer ran on.
start resume
see Watch the overflows with the tap open: runs 3
see Float: weight and bubbles: heavy 3
see Timer, cleaner soaks: 1 h
say do renew-float@3
ask Is the work done
say yes
see Noted as done.
ask Float: weight and bubbles, carburettor 3 (
say ok
see Put back: Float height.
ask now it is
say 13.5 13.4 13.6 13.5
see Put back: Hoses.
ask now it is
say go
ask Fuel level by clear tube
say 5.0
see 5.0 mm (+/- 1): inside
ask Watch the overflows with the tap open (
say dry
ask Wet with the tap off as well (
say dry
ask Is it still there
say no
ask Close the job as
say proven
ask What proves it
say level 5 mm, dry overnight
ask Why did it happen
say the float had taken in fuel
see The same to print or send: /
see Closed: proven
see Look again after: 50 km.
end 0
sheet State: closed: proven
sheet DONE: Renew float needle and seat as a pair, carburettor 3.
sheet DONE: Renew the float, carburettor 3.
sheet Float height, carburettor 3 13.5 13.6 13 to 14 mm
sheet Complaint repeated: yes, and it is gone.
page Renew the float, carburettor 3
