"""Pages of ``explain`` for signatures: making them, and what one is worth."""

from tracker.reports.page import Page

SIGNATURES: tuple[Page, ...] = (
    Page(
        "signed",
        "word",
        "The record carries a signature, made with the SSH key of the person who put it down and beside it in the same "
        "commit, over every byte of its file. The short text behind it is the key's print, as ssh-keygen -l shows it. A "
        "signature says who wrote the record, and nothing of the program.",
    ),
    Page(
        "unsigned",
        "word",
        "The record carries no signature: anybody who could write here could have written it in this name. Where "
        'shop.toml says signatures = "optional" it counts; where it says "required" it lets nothing run.',
        "Give this PC the person's key: proveout install --key FILE --by INITIALS. ssh-keygen -t ed25519 makes a key; its "
        ".pub line goes into shop.toml, keys of that person.",
    ),
    Page(
        "no-signing-key",
        "error",
        "shop.toml says that records must be signed, and this PC has no key of the person. Nothing was written. "
        "A hold, a withdrawal and a rejection need no key.",
        "proveout install --key FILE --by INITIALS, or --key FILE with the call. On a shared PC every person has a key. Who has none "
        "yet makes one: ssh-keygen -t ed25519; quality puts its .pub line into shop.toml, keys of that person, in a change of its own.",
    ),
    Page(
        "key-not-listed",
        "error",
        "The key does not stand in shop.toml for the person who signs, so its signature would count for nothing. Nothing "
        "was written.",
        "Keep the key that stands there: proveout install --key FILE --by INITIALS. A new key is added by somebody of quality to "
        "keys of that person, in the line the error shows; a key that was taken out, because it is lost or others may have it, "
        "is not put back.",
    ),
    Page(
        "key-locked",
        "error",
        "The key could not sign: its passphrase was not right or could not be asked, or no agent holds its private half. "
        "Nothing was written; of a release the record may be there, and its tag is made when it is run again.",
        "Run it on a terminal, or load the key once with ssh-add.",
    ),
    Page(
        "not-signed-by-key",
        "error",
        "ssh-keygen did not sign with this key, or what it made does not hold: the file of the key is damaged, others may "
        "read it, or the .pub file beside it is another key's. Nothing was written.",
        "ssh-keygen -y -f FILE reads the key and says what is wrong; chmod 600 FILE where others may read it.",
    ),
    Page(
        "no-key-file",
        "error",
        "The file of the key is not there: it was moved, or is on a stick that is not plugged in. Nothing was written.",
        "Name it anew: proveout install --key FILE --by INITIALS.",
    ),
    Page(
        "key-in-the-shop",
        "error",
        "The file is a private key and lies in the folder that is checked in and shared: whoever has the record could sign "
        "in this name.",
        "Keep it in a folder of your own, like ~/.ssh. If it was ever committed it is known: make a new one, and take the old "
        "line out of shop.toml.",
    ),
    Page(
        "not-a-key",
        "error",
        "The file holds no SSH key that can be verified here: Ed25519, ECDSA on P-256, or RSA. Keys in hardware (sk-) are "
        "not verified here.",
        "ssh-keygen -t ed25519 makes a key that fits.",
    ),
    Page(
        "no-ssh-keygen",
        "error",
        "Records are signed by the program ssh-keygen of OpenSSH, and it is not there. Nothing was written.",
        "Install OpenSSH; git for Windows brings it along in its own folder, which must stand in PATH.",
    ),
    Page(
        "nobody-could-sign",
        "error",
        "With signatures required nobody of quality would have a key in shop.toml: then nothing could ever be signed, "
        "shop.toml included, and the shop would have locked itself out.",
        "First put keys of somebody of quality into shop.toml and check that in; then require signatures.",
    ),
    Page(
        "waits-for-its-tag",
        "error",
        "A release was recorded and its tag was not made (a passphrase was wrong, a call was killed). Records are signed here, and "
        "the tag must be signed with a key that stood in shop.toml before the record and still does: yours does not.",
        "Somebody the error names makes it: proveout release JOB --by INITIALS. Once nobody could, the next number is taken.",
    ),
    Page(
        "unsigned-record",
        "error",
        'shop.toml says signatures = "required", and a record, a change of shop.toml or a release tag that came after that '
        "carries none. Anybody could have written it in this name. What came in before counts as it did; a hold, a withdrawal "
        "and a rejection stop use unsigned too.",
        "Make it again on a PC that has the person's key: proveout install --key FILE --by INITIALS. What the branch here holds "
        "already must go off it first: proveout explain push-refused says how.",
    ),
    Page(
        "signature-broken",
        "error",
        "The signature does not belong to these bytes, was made for something else, or is none. The record may have been "
        "changed after it was signed, or the signature taken from another. It is refused also where signatures are optional.",
        "Look who committed it. Make the record again from the state before.",
    ),
    Page(
        "signature-unknown-key",
        "error",
        "The signature holds, by a key nobody had in the shop.toml before the record came in.",
        "If it is a new key of that person, quality puts it into shop.toml first, in a push of its own.",
    ),
    Page(
        "signature-not-his-key",
        "error",
        "The signature holds, by a key of somebody else. Who sits at the keyboard signs: entered_by where the record names "
        "somebody there, else by.",
        "That person makes the record, with a key of their own; or it says who entered it: --entered-by INITIALS.",
    ),
    Page(
        "signature-revoked",
        "error",
        "The key was taken out of shop.toml before the record came in. What it signed until then stays good; whatever comes "
        "after is refused, no matter what date it claims.",
        "Make the record again with the key that stands in shop.toml now; proveout explain push-refused says how it goes off the "
        "branch here. If nobody meant to sign with the old one, it is in wrong hands. Before a key is changed, every PC shares.",
    ),
    Page(
        "signature-left",
        "error",
        "The key is of somebody who had left when the state before the record was made.",
        "Take the keys of people who leave out of shop.toml.",
    ),
    Page(
        "signature-alone",
        "error",
        "A signature comes without its record. Both come in one commit, so that nothing is signed afterwards.",
        "Leave the signature out; the record stays unsigned.",
    ),
    Page(
        "signature-replayed",
        "error",
        "A signed record comes in a second time, under another name or on another line of history. A signature counts once.",
        "Make a record of its own.",
    ),
)
