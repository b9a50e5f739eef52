(jig plate, 8 off)
g21 g17 g40 g80 g90 g94
(spot)
m6 t1
g0 g90 g54 g17 g40 g80 x20 y20 s3200 m3
g43 h1 z50 m8
z5
g99 g81 x20 y20 z-4 r5 f320
x80
y60
x20
g80
g0 z50 m9
m5
g91 g28 z0
g90
(drill)
m6 t2
g0 g90 g54 g17 g40 g80 x20 y20 s3600 m3
g43 h2 z50 m8
z5
g99 g73 x20 y20 z-22 r5 q4 f540
x80
y60
x20
g80
g0 z50 m9
m5
g91 g28 z0
g90
(tap, tension compression holder)
m6 t3
g0 g90 g54 g17 g40 g80 x20 y20 s400 m3
g43 h3 z50 m8
z5
g99 g84 x20 y20 z-17 r5 f490
x80
y60
x20
g80
g0 z50 m9
m5
g91 g28 z0
g28 x0 y0
g90
m30
