"""What to do about each trouble, on Linux, Windows and macOS. Pure: facts in, sentences out.

What is said of Windows and macOS is from their documentation and from reports, not tried here.
"""

import sys
from dataclasses import dataclass

from meterlog.bench.find.trouble import Trouble

LINUX, WINDOWS, MACOS = "linux", "win32", "darwin"


@dataclass(frozen=True, slots=True)
class Facts:
    """What is known of the line. system: as sys.platform says it.

    holder   who has the port open, "" if unknown
    group    the group that owns the port, "" if unknown
    tried    at which lines it was listened to
    asked    whether anything was sent
    fault    what the system or a library said
    """

    address: str
    system: str = LINUX
    holder: str = ""
    group: str = ""
    tried: tuple[str, ...] = ()
    asked: bool = True
    fault: str = ""


def said(trouble: Trouble, facts: Facts) -> str:
    """What is wrong, in one sentence; "" if nothing is."""
    by = f" ({facts.holder})" if facts.holder else ""
    tried = ", ".join(facts.tried)
    return {
        Trouble.NONE: "",
        Trouble.HELD: f"the bench's own {facts.holder} is on this line; it was left alone",
        Trouble.IN_USE: f"another program{by} has this port open",
        Trouble.FORBIDDEN: "you may not open this port",
        Trouble.ABSENT: "this port is not there",
        Trouble.VANISHED: "this port vanished while it was open",
        Trouble.NO_PORT: f"this cannot be opened as a serial port: {facts.fault}",
        Trouble.SILENT: f"nothing came; tried: {tried}" if tried else "it was reached, but does not answer",
        Trouble.MODEM: "commands for a modem come down this line: a service of this computer tries it out",
        Trouble.ZEROS: f"only zero bytes came; tried: {tried}",
        Trouble.FOREIGN: f"bytes came, but no driver recognises them; tried: {tried}",
        Trouble.UNREACHED: facts.fault or "this instrument was not reached",
        Trouble.USB_FORBIDDEN: "you may not use this USB instrument",
        Trouble.NAMELESS: "nothing on such a line can say who it is",
        Trouble.USB_UNAIDED: "the VISA library cannot use USB here",
    }[trouble]


def advice(trouble: Trouble, facts: Facts) -> list[str]:
    """What to do, one step in each; empty where there is nothing to do."""
    own = {
        Trouble.HELD: _held,
        Trouble.IN_USE: _in_use,
        Trouble.FORBIDDEN: _forbidden,
        Trouble.ABSENT: _absent,
        Trouble.VANISHED: _taken,
        Trouble.MODEM: _taken,
        Trouble.NO_PORT: _no_port,
        Trouble.SILENT: _silent,
        Trouble.ZEROS: _zeros,
        Trouble.FOREIGN: _foreign,
        Trouble.UNREACHED: _unreached,
        Trouble.USB_FORBIDDEN: _usb_forbidden,
        Trouble.USB_UNAIDED: _usb_unaided,
        Trouble.NAMELESS: _nameless,
    }.get(trouble)
    return own(facts) if own else []


def taken_advice(system: str = sys.platform) -> list[str]:
    """For a port that goes again as soon as it has come."""
    return advice(Trouble.VANISHED, Facts("", system))


def _held(_: Facts) -> list[str]:
    return ["If another instrument is meant, end the daemon, then look again."]


def _in_use(facts: Facts) -> list[str]:
    find = {
        LINUX: f"Which one: fuser -v {facts.address} (a modem or Braille service may be it)",
        MACOS: f"Which one: lsof {facts.address}",
        WINDOWS: "Which one: look through the programs that are open, also the ones beside the clock.",
    }
    end = f"End {facts.holder}, then look again." if facts.holder else "End it, then look again."
    return [end] if facts.holder else [find.get(facts.system, find[LINUX]), end]


def _forbidden(facts: Facts) -> list[str]:
    group = facts.group or "dialout"
    if facts.system == WINDOWS:
        return ["Another program has it open, or your account may not use devices: ask who looks after it."]
    if facts.system == MACOS:
        return [f"Look at who may open it: ls -l {facts.address}"]
    if group == "root":
        return [f"It belongs to root alone; a udev rule must give it to a group: {_RULE_TTY}"]
    return [
        f"Join the group that owns it: sudo usermod -a -G {group} $USER",
        "Log out and in again; `id` then lists the group.",
    ]


def _absent(facts: Facts) -> list[str]:
    look = {
        LINUX: "Plug it in, then look what the system says of it: dmesg | tail",
        MACOS: "Plug it in, then look: ls /dev/cu.*",
        WINDOWS: "Plug it in, then look in the Device Manager under Ports; a mark there: no driver for it.",
    }
    return [look.get(facts.system, look[LINUX]), "Try another lead or another USB socket."]


def _taken(facts: Facts) -> list[str]:
    if facts.system != LINUX:
        return ["Look whether a modem or fax service uses the port, or whether the plug is loose."]
    return [
        "On Linux two services take serial adapters: brltty (for Braille displays) and ModemManager.",
        "Whoever needs no Braille display: sudo systemctl mask --now brltty-udev.service brltty.service",
        f"Keep the other one from this adapter by a udev rule: {_RULE_MODEM}",
        "Or wait half a minute after plugging it in, then look again. Neither runs: is the plug loose?",
    ]


def _no_port(_: Facts) -> list[str]:
    return ["Look whether the name is right, and whether the adapter can do 7 data bits and parity at all."]


def _silent(facts: Facts) -> list[str]:
    steps = _PORT_SILENT if facts.tried else _FAR_SILENT
    return steps if facts.asked else [*steps, "Nothing was sent: a meter that must be asked stays silent."]


def _zeros(_: Facts) -> list[str]:
    return [
        "The lead may lack power (it takes it from DTR and RTS), sit the wrong way round, or be crossed.",
        "Set dtr and rts in [meter.line] of the bench file as the meter's manual wants them.",
    ]


def _foreign(facts: Facts) -> list[str]:
    return [
        "The speed or the framing may be another one: look it up in the meter's manual (serial interface).",
        f"Look at the raw bytes: meterlog instruments watch {facts.address} --line '2400 8N1'",
        "Bytes that repeat in the meter's own rhythm: that line is the right one.",
        "Drivers for meters that a file describes recognise none by its bytes: one may be right.",
        "If the line is right and no driver fits: a meter can be described in a file (docs/dialects.md).",
    ]


def _unreached(_: Facts) -> list[str]:
    return [
        "Is the instrument on, its network cable in, its address the one on its own display?",
        "Is its socket service on, and at this port? 5025 is usual for SCPI (common practice).",
        "Many take one connection at a time: is another computer or program connected?",
    ]


def _usb_forbidden(facts: Facts) -> list[str]:
    if facts.system != LINUX:
        return ["Give it the USB driver that its VISA library wants; see that library's documents."]
    return [
        f"A udev rule gives USB instruments to those who are logged in: {_RULE_USB}",
        "Put it into /etc/udev/rules.d/70-instruments.rules, then: sudo udevadm control --reload",
        "Plug the instrument out and in.",
    ]


def _usb_unaided(_: Facts) -> list[str]:
    return ["Install pyusb beside meterlog (it needs libusb 1.0), or connect the instrument by network."]


def _nameless(_: Facts) -> list[str]:
    return [
        "Write its entry into the bench file by hand, with the driver that its kind wants: meterlog drivers"
    ]


_PORT_SILENT = [
    "Is the meter on, and awake? Many switch themselves off after some minutes.",
    "Is its data output on? Often a key held down while switching on; a sign on the display tells.",
    "An optical lead: does it sit the right way round, close to the window, and is the window clean?",
    "A meter with a 9-pin connector: does it want a crossed lead (null modem) or a straight one?",
]
_FAR_SILENT = [
    "Is this the instrument's port for SCPI over a raw socket? Others answer in other languages.",
    "Is its remote interface set to the language that the driver speaks (SCPI)?",
    "Some answer one computer only until they are switched off and on again.",
]

# USB class 0xfe, subclass 3: test and measurement (USBTMC 1.0, 4.1). uaccess: whoever is logged in.
_RULE_USB = 'SUBSYSTEM=="usb", ENV{ID_USB_INTERFACES}=="*:fe03*:*", TAG+="uaccess"'
_RULE_MODEM = 'ATTRS{idVendor}=="VVVV", ATTRS{idProduct}=="PPPP", ENV{ID_MM_DEVICE_IGNORE}="1"'
_RULE_TTY = 'KERNEL=="ttyUSB*", GROUP="dialout", MODE="0660"'
