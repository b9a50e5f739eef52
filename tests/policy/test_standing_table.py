"""The rules of standing as a table: what happened, what is asked, the state and words of the reason.

How the rows are written is said in ``rows.py``.
"""

import pytest

from tests.policy.rows import Rows, day_of, read
from tracker.policy.standing import standing

R1 = "02-02 r1 np | 02-04 proof r1 MILL2 ss | "
R2 = R1 + "02-10 r2<r1 np "

# name | rows | revision machine day | state | words of the reason
TABLE = [
    # -- proofs ---------------------------------------------------------------------------------------------------------
    ("nothing yet", "02-02 r1 np", "r1 MILL2 02-03", "unproven", "unproven: never proved on MILL2"),
    ("proved", R1, "r1 MILL2 02-04", "proven", "proven by ss 4 Feb 2026 on MILL2"),
    ("not yet proved the day before", R1, "r1 MILL2 02-03", "unproven", "never proved on MILL2"),
    ("on another machine", R1, "r1 MILL9 02-05", "unproven", "never proved on MILL9"),
    ("begun", "02-02 r1 np | 02-04 proof r1 MILL2 ss unfinished", "r1 MILL2 02-05", "unproven", "prove-out begun by ss 4 Feb 2026, not finished"),
    ("first piece waiting", "02-02 r1 np | 02-04 proof r1 MILL2 ss waiting", "r1 MILL2 02-05", "unproven", "first piece waiting since the prove-out by ss 4 Feb 2026"),
    ("first piece measured", "02-02 r1 np | 02-04 proof r1 MILL2 ss waiting | 02-05 measured kp accepted", "r1 MILL2 02-05", "proven", "proven by ss 4 Feb 2026"),
    ("measured by quality", "02-02 r1 np | 02-04 proof r1 MILL2 ss waiting | 02-05 measured dg accepted", "r1 MILL2 02-05", "unproven", "first piece waiting"),
    ("measured and turned down", "02-02 r1 np | 02-04 proof r1 MILL2 ss waiting | 02-05 measured kp rejected", "r1 MILL2 02-06", "rejected", "rejected on MILL2 by kp 5 Feb 2026; unproven: the first piece of ss 4 Feb 2026 was rejected"),
    ("measured anew after that", "02-02 r1 np | 02-04 proof r1 MILL2 ss waiting | 02-05 measured kp rejected | 02-06 measured kp accepted of=2", "r1 MILL2 02-07", "rejected", "rejected on MILL2 by kp"),
    ("prover without the role", "02-02 r1 np | 02-04 proof r1 MILL2 dg", "r1 MILL2 02-05", "unproven", "the proof by dg 4 Feb 2026 does not count: not listed as setup then"),
    ("role lost afterwards", R1 + "02-05 shop ss=quality", "r1 MILL2 02-06", "proven", "proven by ss"),
    ("role given afterwards", "02-02 r1 np | 02-04 proof r1 MILL2 xx | 02-05 shop xx=setup", "r1 MILL2 02-06", "unproven", "not listed as setup then"),
    ("a fingerprint the record does not know", "02-02 r1 np | 02-04 proof r1 MILL2 ss print=zz", "r1 MILL2 02-05", "unproven", "the proof by ss 4 Feb 2026 does not name a text the record knows"),
    ("with a limit", "02-02 r1 np | 02-04 proof r1 MILL2 ss limit=lot-7", "r1 MILL2 02-05", "proven", "limit: lot-7"),
    ("entered late", "02-02 r1 np | 02-08 proof r1 MILL2 ss at=02-04", "r1 MILL2 02-08", "proven", "proven by ss 4 Feb 2026 on MILL2, entered late"),
    ("known only once entered", "02-02 r1 np | 02-08 proof r1 MILL2 ss at=02-04", "r1 MILL2 02-05", "unproven", "never proved"),
    ("struck by the prover", R1 + "02-05 strike ss", "r1 MILL2 02-06", "unproven", "never proved on MILL2"),
    ("struck by somebody else", R1 + "02-05 strike kp", "r1 MILL2 02-06", "proven", "proven by ss"),
    ("the strike struck again", R1 + "02-05 strike ss | 02-06 strike ss", "r1 MILL2 02-07", "proven", "proven by ss"),
    ("on another branch only", "02-02 r1 np | ~ 02-04 proof r1 MILL2 ss", "r1 MILL2 02-05", "unproven", "never proved"),
    # -- two persons ----------------------------------------------------------------------------------------------------
    ("writer proves", "02-02 r1 bb | 02-04 proof r1 MILL2 bb", "r1 MILL2 02-05", "unproven", "unproven: second person owed (bb proved and wrote r1)"),
    ("writer proves what another entered", "02-02 r1 bb typed=np | 02-04 proof r1 MILL2 bb", "r1 MILL2 02-05", "unproven", "second person owed"),
    ("who checked in proves", "02-02 r1 ss typed=bb | 02-04 proof r1 MILL2 bb", "r1 MILL2 02-05", "unproven", "second person owed"),
    ("renumbering makes no other writer", "02-02 r1 bb | 02-03 r2<r1 np numbering | 02-04 proof r2 MILL2 bb", "r2 MILL2 02-05", "unproven", "second person owed"),
    ("countersigned", "02-02 r1 bb | 02-04 proof r1 MILL2 bb | 02-05 countersign dg", "r1 MILL2 02-05", "proven", "proven by bb 4 Feb 2026"),
    ("countersigned by the prover", "02-02 r1 bb | 02-04 proof r1 MILL2 bb | 02-05 countersign bb", "r1 MILL2 02-05", "unproven", "second person owed"),
    ("countersigned by a programmer", "02-02 r1 bb | 02-04 proof r1 MILL2 bb | 02-05 countersign np", "r1 MILL2 02-05", "unproven", "second person owed"),
    ("countersigned by the other writer", "02-02 r1 bb typed=ss | 02-04 proof r1 MILL2 bb | 02-05 countersign ss", "r1 MILL2 02-05", "unproven", "second person owed"),
    ("countersign struck", "02-02 r1 bb | 02-04 proof r1 MILL2 bb | 02-05 countersign dg | 02-06 strike dg", "r1 MILL2 02-07", "unproven", "second person owed"),
    ("two persons not asked for", "02-01 shop two_person=false | 02-02 r1 bb | 02-04 proof r1 MILL2 bb", "r1 MILL2 02-05", "proven", "proven by bb 4 Feb 2026 on MILL2, same person"),
    ("asked for from a day on", "02-01 shop two_person=false | 02-02 r1 bb | 02-04 proof r1 MILL2 bb | 02-08 shop two_person=true", "r1 MILL2 02-08", "unproven", "second person owed"),
    ("and before that day", "02-01 shop two_person=false | 02-02 r1 bb | 02-04 proof r1 MILL2 bb | 02-08 shop two_person=true", "r1 MILL2 02-07", "proven", "same person"),
    # -- proofs kept on paper ---------------------------------------------------------------------------------------------
    ("on paper, not taken in", "02-02 r1 np | 02-04 proof r1 MILL2 ss prior", "r1 MILL2 02-05", "unproven", "was kept on paper, and the shop did not take those in then"),
    ("on paper, in time", "01-02 shop prior_until=02-04 | 02-02 r1 np | 02-04 proof r1 MILL2 ss prior", "r1 MILL2 03-05", "proven", "on paper, before the record"),
    ("on paper, a day late", "01-02 shop prior_until=02-03 | 02-02 r1 np | 02-04 proof r1 MILL2 ss prior", "r1 MILL2 02-05", "unproven", "was kept on paper"),
    ("on paper, last run long ago", "01-02 shop prior_until=02-04 | 02-02 r1 np | 02-04 proof r1 MILL2 ss prior last=24-01-10", "r1 MILL2 02-05", "lapsed", "lapsed 10 Jan 2026"),
    # -- equal bytes and equal code -----------------------------------------------------------------------------------------
    ("equal bytes under another number", "02-02 r1 np raw=a | 02-04 proof r1 MILL2 ss | 02-10 r2<r1 np motion T4 | 02-11 r3<r2 np motion T4 raw=a code=r1", "r3 MILL2 02-12", "proven", "proven by ss 4 Feb 2026 on MILL2 as r1"),
    ("equal bytes, other sheet", "02-02 r1 np raw=a | 02-04 proof r1 MILL2 ss | 02-10 r2<r1 np sheet-tool T4 raw=a sheet=b", "r2 MILL2 02-12", "unproven", "r1 to r2 changed sheet-tool (T4)"),
    ("equal code, back again", R2 + "motion T4 | 02-11 r3<r2 np motion T4 code=r1", "r3 MILL2 02-12", "carried", "carried over from r1, proved 4 Feb 2026 on MILL2; r3 itself was not run in full."),
    ("equal code, but by other rules", "02-02 r1 np raw=a | 02-04 proof r1 MILL2 ss | 02-10 r2<r1 np wording rules=2", "r2 MILL2 02-12", "unproven", "the rules of same code changed from r1 to r2 (1 to 2): their fingerprints cannot be compared"),
    ("equal bytes by other rules", "02-02 r1 np raw=a | 02-04 proof r1 MILL2 ss | 02-10 r2<r1 np raw=a rules=2", "r2 MILL2 02-12", "proven", "proven by ss 4 Feb 2026 on MILL2 as r1"),
    ("nothing changed but the job's table", "02-02 r1 np raw=a | 02-04 proof r1 MILL2 ss | 02-10 r2<r1 np raw=a", "r2 MILL2 02-12", "proven", "as r1"),
    # -- carried by itself ------------------------------------------------------------------------------------------------
    ("renumbered", R2 + "numbering", "r2 MILL2 02-12", "carried", "carried over from r1, proved 4 Feb 2026 on MILL2; r2 itself was not run in full."),
    ("wording on a stricter list", "01-02 shop carry=numbering+format review=wording | " + R2 + "wording", "r2 MILL2 02-12", "unproven", "r1 to r2 changed wording: a desk review is owed"),
    ("another post-processor", "02-02 r1 np post=A | 02-04 proof r1 MILL2 ss | 02-10 r2<r1 np post post=B", "r2 MILL2 02-12", "unproven", "r1 to r2 changed post: a full proof is owed"),
    ("another post-processor long before", "02-02 r1 np post=A | 02-04 proof r1 MILL2 ss | 02-10 r2<r1 np post post=B | 02-11 r3<r2 np wording", "r3 MILL2 02-12", "unproven", "r1 to r2 changed post"),
    ("the first header", R2 + "wording post=B", "r2 MILL2 02-12", "carried", "carried over from r1"),
    ("words hide a change of code", R2 + "wording code=zz", "r2 MILL2 02-12", "unproven", "r1 to r2 differ in code, and the record does not say how"),
    # -- desk reviews -----------------------------------------------------------------------------------------------------
    ("coolant not reviewed", R2 + "coolant T4", "r2 MILL2 02-12", "unproven", "r1 to r2 changed coolant (T4): a desk review is owed"),
    ("coolant reviewed", R2 + "coolant T4 | 02-11 review r2<r1 dg", "r2 MILL2 02-12", "carried", "Treat T4 as a first run. Covered by: coolant (T4): desk review dg 11 Feb 2026"),
    ("before the review", R2 + "coolant T4 | 02-11 review r2<r1 dg", "r2 MILL2 02-10", "unproven", "a desk review is owed"),
    ("reviewed by the writer", R2 + "coolant T4 | 02-11 review r2<r1 np", "r2 MILL2 02-12", "unproven", "a desk review is owed"),
    ("reviewed by setup", R2 + "coolant T4 | 02-11 review r2<r1 kp", "r2 MILL2 02-12", "unproven", "a desk review is owed"),
    ("reviewed by another programmer", R2 + "coolant T4 | 02-11 review r2<r1 pp", "r2 MILL2 02-12", "carried", "desk review pp"),
    ("review of fewer kinds", R2 + "coolant,dwell T4 | 02-11 review r2<r1 dg coolant", "r2 MILL2 02-12", "unproven", "changed coolant, dwell (T4): a desk review is owed"),
    ("review of another pair", R2 + "coolant T4 | 02-11 r3<r2 np dwell T4 | 02-12 review r3<r1 dg coolant dwell", "r3 MILL2 02-12", "unproven", "r1 to r2 changed coolant (T4): a desk review is owed"),
    ("motion cannot be reviewed", R2 + "motion T4 | 02-11 review r2<r1 dg", "r2 MILL2 02-12", "unproven", "r1 to r2 changed motion (T4): these tools are to be proved again"),
    ("review on another branch", R2 + "coolant T4 | ~ 02-11 review r2<r1 dg", "r2 MILL2 02-12", "unproven", "a desk review is owed"),
    # -- slower -----------------------------------------------------------------------------------------------------------
    ("slower by 16.7 %, reviewed", R2 + "feed T4 slower=0.833 | 02-11 review r2<r1 dg", "r2 MILL2 02-12", "carried", "slower (T4): desk review dg"),
    ("slower by exactly 20 %", R2 + "feed T4 slower=0.8 | 02-11 review r2<r1 dg", "r2 MILL2 02-12", "carried", "slower (T4)"),
    ("slower by more", R2 + "feed T4 slower=0.799 | 02-11 review r2<r1 dg", "r2 MILL2 02-12", "unproven", "changed feed (T4): these tools are to be proved again"),
    ("slower twice, too much together", R2 + "feed T4 slower=0.9 | 02-11 review r2<r1 dg | 02-12 r3<r2 np speed T4 slower=0.88 | 02-13 review r3<r2 dg", "r3 MILL2 02-14", "unproven", "r2 to r3 changed speed (T4)"),
    ("slower twice, within", R2 + "feed T4 slower=0.9 | 02-11 review r2<r1 dg | 02-12 r3<r2 np speed T4 slower=0.9 | 02-13 review r3<r2 dg", "r3 MILL2 02-14", "carried", "slower (T4)"),
    ("counted anew after a full proof", R2 + "feed T4 slower=0.85 | 02-11 proof r2 MILL2 ss | 02-12 r3<r2 np feed T4 slower=0.85 | 02-13 review r3<r2 dg", "r3 MILL2 02-14", "carried", "carried over from r2"),
    ("a stricter percentage", "01-02 shop slower_percent=10 | " + R2 + "feed T4 slower=0.85 | 02-11 review r2<r1 dg", "r2 MILL2 02-12", "unproven", "changed feed (T4)"),
    ("feed rose", R2 + "feed T4 | 02-11 review r2<r1 dg", "r2 MILL2 02-12", "unproven", "changed feed (T4): these tools are to be proved again"),
    # -- proofs of sections -----------------------------------------------------------------------------------------------
    ("its section proved again", R2 + "motion T5 | 02-11 proof r2 MILL2 kp tools=5,6", "r2 MILL2 02-12", "carried", "Treat T5 as a first run. Covered by: T5 proved again kp 11 Feb 2026"),
    ("one of two sections", R2 + "motion T4,5 | 02-11 proof r2 MILL2 kp tools=5", "r2 MILL2 02-12", "unproven", "these tools are to be proved again"),
    ("two sections one after the other", R2 + "motion T4,5 | 02-11 proof r2 MILL2 kp tools=5 | 02-12 proof r2 MILL2 kp tools=4", "r2 MILL2 02-12", "carried", "T4, T5 proved again"),
    ("sections not computable", R2 + "motion Tall | 02-11 proof r2 MILL2 kp tools=4,5,6", "r2 MILL2 02-12", "unproven", "changed motion (all tools): a full proof is owed"),
    ("flow needs a full proof", R2 + "flow T4 | 02-11 proof r2 MILL2 kp tools=4", "r2 MILL2 02-12", "unproven", "r1 to r2 changed flow (T4): a full proof is owed"),
    ("section proved on the next text", R2 + "motion T4 | 02-11 r3<r2 np wording | 02-12 proof r3 MILL2 kp tools=4", "r3 MILL2 02-12", "carried", "T4 proved again"),
    ("section proved after one more change", R2 + "motion T4 | 02-11 r3<r2 np motion T5 | 02-12 proof r3 MILL2 kp tools=4,5", "r3 MILL2 02-12", "unproven", "r1 to r2 changed motion (T4)"),
    ("section proof waiting", R2 + "motion T4 | 02-11 proof r2 MILL2 kp tools=4 waiting", "r2 MILL2 02-12", "unproven", "first piece waiting"),
    ("section proof by the writer", R1 + "02-10 r2<r1 bb motion T4 | 02-11 proof r2 MILL2 bb tools=4", "r2 MILL2 02-12", "unproven", "second person owed"),
    ("section proof alone is no proof", "02-02 r1 np | 02-04 proof r1 MILL2 ss tools=4", "r1 MILL2 02-05", "unproven", "never proved on MILL2"),
    ("proved in full after all", R2 + "flow T4 | 02-11 proof r2 MILL2 kp", "r2 MILL2 02-12", "proven", "proven by kp 11 Feb 2026"),
    # -- how far it carries -----------------------------------------------------------------------------------------------
    ("three changes of code", "01-02 shop max_carries=3 | " + R2 + "dwell | 02-10 review r2<r1 dg | 02-11 r3<r2 np dwell | 02-11 review r3<r2 dg | 02-12 r4<r3 np dwell | 02-12 review r4<r3 dg", "r4 MILL2 02-13", "carried", "carried over from r1"),
    ("one more than max_carries", "01-02 shop max_carries=1 | " + R2 + "dwell | 02-10 review r2<r1 dg | 02-11 r3<r2 np dwell | 02-11 review r3<r2 dg", "r3 MILL2 02-13", "unproven", "more than 1 changes of code since the last full proof"),
    ("words do not count as changes", "01-02 shop max_carries=1 | " + R2 + "dwell | 02-10 review r2<r1 dg | 02-11 r3<r2 np wording | 02-12 r4<r3 np format", "r4 MILL2 02-13", "carried", "carried over from r1"),
    ("not through a rejected one", R2 + "wording code=r2 | 02-11 proof r2 MILL2 ss rejected setup | 02-12 r3<r2 np wording", "r3 MILL2 02-13", "rejected", "rejected on MILL2 by ss 11 Feb 2026 (setup)"),
    ("not through a rejected other code", R2 + "dwell | 02-10 review r2<r1 dg | 02-11 proof r2 MILL2 ss rejected setup | 02-12 r3<r2 np dwell | 02-12 review r3<r2 dg", "r3 MILL2 02-13", "unproven", "it came from r2, which is rejected: nothing is carried over"),
    ("through one rejected elsewhere", R2 + "dwell | 02-10 review r2<r1 dg | 02-11 proof r2 MILL9 ss rejected setup | 02-12 r3<r2 np dwell | 02-12 review r3<r2 dg", "r3 MILL2 02-13", "carried", "carried over from r1"),
    ("not through a withdrawn one", R2 + "dwell | 02-10 review r2<r1 dg | 02-11 withdraw r1 dg", "r2 MILL2 02-13", "unproven", "it came from r1, which is withdrawn"),
    # -- two origins ------------------------------------------------------------------------------------------------------
    ("both steps covered, one stands", R1 + "02-05 r2-a<r1 np wording | 02-05 r2-b<r1 pp dwell | 02-06 r3<r2-a,r2-b np dwell/wording | 02-07 review r3<r2-a dg", "r3 MILL2 02-08", "carried", "carried over from r1"),
    ("one step not covered", R1 + "02-05 r2-a<r1 np dwell | 02-05 review r2-a<r1 dg | 02-05 r2-b<r1 pp motion T4 | 02-06 r3<r2-a,r2-b np dwell/motion T4 | 02-07 review r3<r2-a dg", "r3 MILL2 02-08", "unproven", "to r3 changed motion (T4)"),
    ("the merged text is the code that stood", R1 + "02-05 r2-a<r1 np wording | 02-05 r2-b<r1 pp motion T4 | 02-06 r3<r2-a,r2-b np wording/motion", "r3 MILL2 02-08", "carried", "carried over from r1"),
    ("neither stands", "02-02 r1 np | 02-05 r2-a<r1 np wording | 02-05 r2-b<r1 pp wording | 02-06 r3<r2-a,r2-b np wording/wording", "r3 MILL2 02-08", "unproven", "never proved"),
    ("one of them rejected", R1 + "02-05 r2-a<r1 np wording | 02-05 r2-b<r1 pp dwell | 02-06 proof r2-b MILL2 ss rejected setup | 02-06 r3<r2-a,r2-b np dwell/wording code=r3 | 02-07 review r3<r2-a dg", "r3 MILL2 02-08", "unproven", "which is rejected: nothing is carried over"),
    ("one of two of a number", R1 + "02-05 r2-a<r1 np wording | 02-05 r2-b<r1 pp motion T4", "r2-a MILL2 02-08", "carried", "carried over from r1"),
    # -- groups -----------------------------------------------------------------------------------------------------------
    ("counts by group", R1, "r1 MILL4 02-05", "proven", "proven on MILL2, counts here by group (ss 4 Feb 2026); no first piece on MILL4 recorded"),
    ("carried by group", R2 + "wording", "r2 MILL4 02-12", "carried", "carried over from r1, proved 4 Feb 2026 on MILL2, counts here by group"),
    ("joined the group later", "01-02 shop MILL4=none | " + R1 + "02-06 shop MILL4=MILLS", "r1 MILL4 02-08", "unproven", "never proved on MILL4"),
    ("left the group in between", R1 + "02-06 shop MILL4=none | 02-07 shop MILL4=MILLS", "r1 MILL4 02-08", "unproven", "never proved on MILL4"),
    ("the proof's machine left it in between", R1 + "02-06 shop MILL2=none | 02-07 shop MILL2=MILLS", "r1 MILL4 02-08", "unproven", "never proved on MILL4"),
    ("still together on the day asked", R1 + "02-06 shop MILL4=none", "r1 MILL4 02-05", "proven", "counts here by group"),
    ("the profile names another group", "02-02 r1 np | 02-04 proof r1 MILL2 ss group=OTHERS", "r1 MILL4 02-05", "unproven", "never proved on MILL4"),
    ("reads decimals otherwise", "02-02 r1 np | 02-04 proof r1 MILL2 ss decimal=increment", "r1 MILL4 02-05", "unproven", "never proved on MILL4"),
    ("turned down on the proof's own machine", R1 + "02-05 proof r1 MILL2 kp rejected setup", "r1 MILL4 02-06", "unproven", "never proved on MILL4"),
    ("first piece recorded there", R1 + "02-05 ran r1 MILL4 kp piece=accepted", "r1 MILL4 02-06", "proven", "proven on MILL2, counts here by group (ss 4 Feb 2026)"),
    # -- rejections -------------------------------------------------------------------------------------------------------
    ("turned down", "02-02 r1 np | 02-03 proof r1 MILL2 ss rejected program", "r1 MILL2 02-04", "rejected", "rejected on MILL2 by ss 3 Feb 2026 (program)"),
    ("turned down by anybody", "02-02 r1 np | 02-03 proof r1 MILL2 xx rejected program", "r1 MILL2 02-04", "rejected", "rejected on MILL2 by xx"),
    ("the program's fault shows everywhere", R1 + "02-05 proof r1 MILL9 kp rejected program", "r1 MILL2 02-06", "rejected", "rejected on MILL9 by kp 5 Feb 2026 (program); proven by ss"),
    ("the set-up's fault shows there only", R1 + "02-05 proof r1 MILL9 kp rejected setup", "r1 MILL2 02-06", "proven", "proven by ss"),
    ("later proved in full there", "02-02 r1 np | 02-03 proof r1 MILL2 ss rejected program | 02-04 proof r1 MILL2 ss", "r1 MILL2 02-05", "proven", "proven by ss 4 Feb 2026"),
    ("later proved in sections", "02-02 r1 np | 02-03 proof r1 MILL2 ss rejected program | 02-04 proof r1 MILL2 ss tools=4", "r1 MILL2 02-05", "rejected", "rejected on MILL2"),
    ("later proved, first piece waiting", "02-02 r1 np | 02-03 proof r1 MILL2 ss rejected setup | 02-04 proof r1 MILL2 ss waiting", "r1 MILL2 02-05", "rejected", "rejected on MILL2 by ss 3 Feb 2026 (setup); unproven: first piece waiting"),
    ("here, later proved on a machine of the group", "02-02 r1 np | 02-03 proof r1 MILL4 ss rejected setup | 02-04 proof r1 MILL2 ss", "r1 MILL4 02-05", "rejected", "rejected on MILL4"),
    ("elsewhere, later proved here by group", "02-02 r1 np | 02-03 proof r1 MILL9 ss rejected program | 02-04 proof r1 MILL2 ss", "r1 MILL4 02-05", "proven", "counts here by group"),
    ("follows the code to another number", "02-02 r1 np | 02-03 proof r1 MILL2 ss rejected program | 02-04 r2<r1 np wording", "r2 MILL2 02-05", "rejected", "rejected on MILL2 by ss 3 Feb 2026"),
    ("follows it over a change of rules", "02-02 r1 np | 02-03 proof r1 MILL2 ss rejected program | 02-04 r2<r1 np wording rules=2", "r2 MILL2 02-05", "rejected", "rejected on MILL2"),
    ("does not follow a change of code", "02-02 r1 np | 02-03 proof r1 MILL2 ss rejected program | 02-04 r2<r1 np motion T4", "r2 MILL2 02-05", "unproven", "it came from r1, which is rejected"),
    ("a rejection the setup person strikes", "02-02 r1 np | 02-03 proof r1 MILL2 ss rejected program | 02-04 strike ss", "r1 MILL2 02-05", "rejected", "rejected on MILL2"),
    ("a rejection quality strikes", "02-02 r1 np | 02-03 proof r1 MILL2 ss rejected program | 02-04 strike dg", "r1 MILL2 02-05", "unproven", "never proved"),
    ("striking the proof keeps what was measured", "02-02 r1 np | 02-04 proof r1 MILL2 ss waiting | 02-05 measured kp rejected | 02-06 strike ss of=2", "r1 MILL2 02-07", "rejected", "rejected on MILL2 by kp"),
    ("on another branch", R1 + "~ 02-05 proof r1 MILL2 kp rejected setup", "r1 MILL2 02-06", "rejected", "rejected on MILL2 by kp"),
    # -- holds ------------------------------------------------------------------------------------------------------------
    ("an operation held", R1 + "02-05 hold op10 dg gauge out", "r1 MILL2 02-06", "held", "held by dg 5 Feb 2026: gauge out; proven by ss 4 Feb 2026"),
    ("later revisions too", R1 + "02-05 hold op10 dg | 02-06 r2<r1 np motion T4 | 02-07 proof r2 MILL2 ss", "r2 MILL2 02-08", "held", "held by dg 5 Feb 2026; proven by ss 7 Feb 2026"),
    ("another operation", R1 + "02-05 hold op20 dg", "r1 MILL2 02-06", "proven", "proven by ss"),
    ("the day before", R1 + "02-05 hold op10 dg", "r1 MILL2 02-04", "proven", "proven by ss"),
    ("a revision held, its code renumbered", R1 + "02-05 hold r1 kp | 02-06 r2<r1 np numbering", "r2 MILL2 02-08", "held", "held by kp 5 Feb 2026"),
    ("a revision held, another code", R1 + "02-05 hold r1 kp | 02-06 r2<r1 np motion T4 | 02-07 proof r2 MILL2 ss", "r2 MILL2 02-08", "proven", "proven by ss"),
    ("lifted by quality", R1 + "02-05 hold op10 kp | 02-06 lift dg", "r1 MILL2 02-06", "proven", "proven by ss"),
    ("lifted by setup", R1 + "02-05 hold op10 kp | 02-06 lift kp", "r1 MILL2 02-07", "held", "held by kp"),
    ("one of two lifted", R1 + "02-05 hold op10 kp | 02-05 hold op10 dg | 02-06 lift dg", "r1 MILL2 02-07", "held", "held by kp"),
    ("on another branch", R1 + "~ 02-05 hold op10 dg", "r1 MILL2 02-06", "held", "held by dg"),
    ("lifted on another branch only", R1 + "02-05 hold op10 dg | ~ 02-06 lift dg", "r1 MILL2 02-07", "held", "held by dg"),
    ("held and lifted on another branch", R1 + "~ 02-05 hold op10 dg | ~ 02-06 lift dg", "r1 MILL2 02-07", "proven", "proven by ss"),
    ("a hold its maker strikes", R1 + "02-05 hold op10 kp | 02-06 strike kp", "r1 MILL2 02-07", "held", "held by kp"),
    ("a hold quality strikes", R1 + "02-05 hold op10 kp | 02-06 strike dg", "r1 MILL2 02-07", "proven", "proven by ss"),
    ("the lift struck", R1 + "02-05 hold op10 kp | 02-06 lift dg | 02-07 strike dg", "r1 MILL2 02-08", "held", "held by kp"),
    ("by a clock that ran ahead, nothing after it", R1 + "28-02-05 hold op10 dg", "r1 MILL2 02-06", "proven", "proven by ss"),
    ("by a clock that ran ahead, something after it", R1 + "28-02-05 hold op10 dg | 02-06 ran r1 MILL2 kp", "r1 MILL2 02-06", "held", "held by dg 5 Feb 2028"),
    ("a machine held", R1 + "02-05 hold MILL2 kp crash", "r1 MILL2 02-06", "held", "held with MILL2 by kp 5 Feb 2026 (crash)"),
    ("another machine held", R1 + "02-05 hold MILL9 kp crash", "r1 MILL2 02-06", "proven", "proven by ss"),
    ("a machine lifted", R1 + "02-05 hold MILL2 kp crash | 02-06 lift dg", "r1 MILL2 02-07", "proven", "the next run asks for a first piece: MILL2 was lifted 6 Feb 2026"),
    ("its first piece made", R1 + "02-05 hold MILL2 kp crash | 02-06 lift dg | 02-07 ran r1 MILL2 ss piece=accepted", "r1 MILL2 02-08", "proven", "proven by ss 4 Feb 2026 on MILL2"),
    ("a run without a first piece", R1 + "02-05 hold MILL2 kp crash | 02-06 lift dg | 02-07 ran r1 MILL2 ss", "r1 MILL2 02-08", "proven", "the next run asks for a first piece"),
    ("a first piece turned down", R1 + "02-05 hold MILL2 kp crash | 02-06 lift dg | 02-07 ran r1 MILL2 ss piece=rejected", "r1 MILL2 02-08", "proven", "the next run asks for a first piece"),
    ("a first piece measured later", R1 + "02-05 hold MILL2 kp crash | 02-06 lift dg | 02-07 ran r1 MILL2 ss piece=waiting | 02-07 measured kp accepted", "r1 MILL2 02-08", "proven", "proven by ss 4 Feb 2026 on MILL2"),
    # -- withdrawals ------------------------------------------------------------------------------------------------------
    ("recalled", R1 + "02-05 withdraw r1 dg grip too low", "r1 MILL2 02-06", "withdrawn", "withdrawn by dg 5 Feb 2026 (release 1): grip too low; proven by ss"),
    ("recalled and renumbered", R1 + "02-05 withdraw r1 dg | 02-06 r2<r1 np numbering", "r2 MILL9 02-07", "withdrawn", "withdrawn by dg"),
    ("recall ended", R1 + "02-05 withdraw r1 dg | 02-06 lift dg", "r1 MILL2 02-07", "proven", "proven by ss"),
    ("recall ended by setup", R1 + "02-05 withdraw r1 dg | 02-06 lift ss", "r1 MILL2 02-07", "withdrawn", "withdrawn by dg"),
    ("recalled without saying what", R1 + "02-05 withdraw all dg", "r1 MILL2 02-07", "withdrawn", "withdrawn by dg"),
    ("recalled, proved again", R1 + "02-05 withdraw r1 dg | 02-06 proof r1 MILL2 ss", "r1 MILL2 02-07", "withdrawn", "withdrawn by dg 5 Feb 2026 (release 1); proven by ss 6 Feb 2026"),
    ("everything at once", "24-01-02 r1 np | 24-01-04 proof r1 MILL2 ss | 02-03 proof r1 MILL9 ss rejected program | 02-04 hold op10 dg | 02-05 withdraw r1 dg", "r1 MILL2 02-07", "withdrawn", "withdrawn by dg 5 Feb 2026 (release 1); held by dg 4 Feb 2026; rejected on MILL9 by ss 3 Feb 2026 (program); lapsed 4 Jan 2026: 24 months since the last proof 4 Jan 2024, no run recorded since; proven by ss 4 Jan 2024 on MILL2"),
    # -- lapse ------------------------------------------------------------------------------------------------------------
    ("the day before", "24-01-15 r1 np | 24-01-17 proof r1 MILL2 ss", "r1 MILL2 01-16", "proven", "proven by ss 17 Jan 2024"),
    ("from the same day of the month on", "24-01-15 r1 np | 24-01-17 proof r1 MILL2 ss", "r1 MILL2 01-17", "lapsed", "lapsed 17 Jan 2026: 24 months since the last proof 17 Jan 2024, no run recorded since"),
    ("29 February, a day before", "24-02-28 r1 np | 24-02-29 proof r1 MILL2 ss", "r1 MILL2 02-27", "proven", "proven by ss 29 Feb 2024"),
    ("29 February becomes 28", "24-02-28 r1 np | 24-02-29 proof r1 MILL2 ss", "r1 MILL2 02-28", "lapsed", "lapsed 28 Feb 2026"),
    ("never lapses", "23-01-15 shop lapse_months=0 | 24-01-15 r1 np | 24-01-17 proof r1 MILL2 ss", "r1 MILL2 28-02-01", "proven", "proven by ss 17 Jan 2024"),
    ("backdated proof lapses from its day", "24-01-15 r1 np | 25-01-17 proof r1 MILL2 ss at=24-01-20", "r1 MILL2 01-20", "lapsed", "lapsed 20 Jan 2026"),
    ("a proof dated ahead lapses from its entry", "24-01-15 r1 np | 24-01-17 proof r1 MILL2 ss at=25-01-20", "r1 MILL2 01-17", "lapsed", "lapsed 17 Jan 2026"),
    ("renewed by a run", "24-01-15 r1 np | 24-01-17 proof r1 MILL2 ss | 25-06-01 ran r1 MILL2 kp", "r1 MILL2 02-01", "proven", "proven by ss 17 Jan 2024"),
    ("a run on another machine", "24-01-15 r1 np | 24-01-17 proof r1 MILL2 ss | 25-06-01 ran r1 MILL4 kp", "r1 MILL2 02-01", "lapsed", "lapsed 17 Jan 2026"),
    ("the last run long ago", "24-01-15 r1 np | 24-01-17 proof r1 MILL2 ss | 24-02-01 ran r1 MILL2 kp", "r1 MILL2 02-01", "lapsed", "24 months since the last run 1 Feb 2024"),
    ("a run while held renews nothing", "24-01-15 r1 np | 24-01-17 proof r1 MILL2 ss | 25-05-01 hold op10 dg | 25-06-01 ran r1 MILL2 kp | 25-07-01 lift dg", "r1 MILL2 02-01", "lapsed", "lapsed 17 Jan 2026"),
    ("a run after it lapsed renews nothing", "24-01-15 r1 np | 24-01-17 proof r1 MILL2 ss | 01-17 ran r1 MILL2 kp", "r1 MILL2 02-01", "lapsed", "lapsed 17 Jan 2026"),
    ("a run on the last good day", "24-01-15 r1 np | 24-01-17 proof r1 MILL2 ss | 01-16 ran r1 MILL2 kp", "r1 MILL2 02-01", "proven", "proven by ss"),
    ("a run before the proof was known", "24-01-15 r1 np | 25-01-17 proof r1 MILL2 ss at=24-01-17 | 25-01-18 ran r1 MILL2 kp day=24-06-01", "r1 MILL2 01-20", "lapsed", "lapsed 17 Jan 2026"),
    ("run after run", "23-01-15 r1 np | 23-01-17 proof r1 MILL2 ss | 24-06-01 ran r1 MILL2 kp | 25-12-01 ran r1 MILL2 kp", "r1 MILL2 02-01", "proven", "proven by ss 17 Jan 2023"),
    ("a run of another code renews nothing", "24-01-15 r1 np | 24-01-17 proof r1 MILL2 ss | 25-01-02 r2<r1 np flow T4 | 25-01-03 proof r2 MILL2 ss | 25-06-01 ran r2 MILL2 kp", "r1 MILL2 02-01", "lapsed", "lapsed 17 Jan 2026"),
    ("a run of the renumbered text renews it", "24-01-15 r1 np | 24-01-17 proof r1 MILL2 ss | 25-01-02 r2<r1 np numbering | 25-06-01 ran r2 MILL2 kp", "r1 MILL2 02-01", "proven", "proven by ss"),
    ("a struck run", "24-01-15 r1 np | 24-01-17 proof r1 MILL2 ss | 25-06-01 ran r1 MILL2 kp | 25-06-02 strike kp", "r1 MILL2 02-01", "lapsed", "lapsed 17 Jan 2026"),
    ("proved again in the short form", "24-01-15 r1 np | 24-01-17 proof r1 MILL2 ss | 01-20 proof r1 MILL2 kp again", "r1 MILL2 02-01", "proven", "proven by ss 17 Jan 2024"),
    ("the short form on a changed machine", "24-01-15 r1 np | 24-01-17 proof r1 MILL2 ss | 01-20 proof r1 MILL2 kp again rpm=9000", "r1 MILL2 02-01", "lapsed", "lapsed 17 Jan 2026"),
    ("the short form by the writer", "24-01-15 r1 bb | 24-01-17 proof r1 MILL2 ss | 01-20 proof r1 MILL2 bb again", "r1 MILL2 02-01", "lapsed", "lapsed 17 Jan 2026"),
    ("the short form is no first proof", "02-02 r1 np | 02-04 proof r1 MILL2 ss again", "r1 MILL2 02-05", "unproven", "never proved"),
    ("the short form does not reach over a change", "24-01-15 r1 np | 24-01-17 proof r1 MILL2 ss | 25-01-02 r2<r1 np dwell | 25-01-03 review r2<r1 dg | 01-20 proof r2 MILL2 kp again", "r2 MILL2 02-01", "lapsed", "lapsed 17 Jan 2026"),
    ("a section proved renews what it is part of", "24-01-15 r1 np | 24-01-17 proof r1 MILL2 ss | 25-01-02 r2<r1 np motion T4 | 25-01-03 proof r2 MILL2 kp tools=4", "r2 MILL2 02-01", "carried", "carried over from r1"),
    ("lapsed and held", "24-01-15 r1 np | 24-01-17 proof r1 MILL2 ss | 02-01 hold op10 dg", "r1 MILL2 02-01", "held", "held by dg 1 Feb 2026; lapsed 17 Jan 2026"),
    ("a younger full proof is stood on", "24-01-15 r1 np | 24-01-17 proof r1 MILL2 ss | 25-06-01 proof r1 MILL2 kp", "r1 MILL2 02-01", "proven", "proven by kp 1 Jun 2025"),
]  # fmt: skip


@pytest.mark.parametrize(
    ("rows", "asked", "state", "words"),
    [row[1:] for row in TABLE],
    ids=[f"{n:03} {row[0]}" for n, row in enumerate(TABLE, 1)],
)
def test_standing(rows, asked, state, words):
    found = ask(read(rows), asked)
    assert (found.state, words in found.reason) == (state, True), found.reason


def ask(rows: Rows, asked: str):
    name, machine, day = asked.split()
    ledger = rows.ledger()
    return standing(ledger, rows.find(name), ledger.shop.machine(machine), day_of(day))
