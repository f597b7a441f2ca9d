"""Train a reader: `python -m models.display.train_reader --seconds 300 --out FOLDER [--net
reader2]`."""

from __future__ import annotations

import faulthandler

import numpy as np
import torch
from torch import Tensor
from torch.nn import functional

from models.display import samples
from models.display.feed import Feed
from models.display.nets import CTC_CLASSES, READERS
from models.display.text import ALPHABET
from models.display.train_common import Averaged, Course, arguments, rate_at, resume, save
from models.display.vary import photometric, shifted

FRAMES = samples.READER_WIDTH // 4


def prepare(
    batch: dict[str, Tensor], vary: bool, grey_share: float = 0.2
) -> tuple[Tensor, dict[str, Tensor]]:
    """Network input (n, 3, 48, 320) of stored samples, normalised as `samples.normalise` does, and
    the labels, places and widths that go with it."""
    x = batch["picture"].permute(0, 3, 1, 2).float()
    if vary:
        batch, x = shifted(batch, x)
        x = photometric(x, grey_share)
    width = batch["width"].to(x.device)[:, None, None, None]
    inside = (torch.arange(samples.READER_WIDTH, device=x.device) < width).float()
    count = width * samples.READER_HEIGHT
    x = (x - (x * inside).sum((2, 3), keepdim=True) / count) * inside
    deviation = ((x * x).sum((1, 2, 3), keepdim=True) / (3 * count)).sqrt()
    return x / (deviation + 4.0), batch


def losses(
    out: Tensor, batch: dict[str, Tensor], weight_ctc: float
) -> tuple[Tensor, dict[str, Tensor]]:
    """CTC, the place of each character, the point after each digit, and the digits' edges."""
    label, places = batch["label"].long(), batch["places"]
    n, _most = label.shape
    present = label > 0
    length = present.sum(1)
    scores = out[:, :CTC_CLASSES].float().log_softmax(1)
    ctc = functional.ctc_loss(
        scores.permute(2, 0, 1),
        label,
        torch.full((n,), FRAMES, device=out.device),
        length,
        zero_infinity=True,
        reduction="none",
    )
    ctc = (ctc / length.clamp(min=1)).mean()
    frame = (places[..., 0] * batch["width"][:, None] / 4).long().clamp(0, FRAMES - 1)
    wanted = torch.zeros((n, FRAMES + 1), dtype=torch.long, device=out.device)
    wanted.scatter_(1, torch.where(present, frame, FRAMES), label)
    wanted = wanted[:, :FRAMES]
    spike = -scores.gather(1, wanted[:, None])[:, 0]
    place = (spike * torch.where(wanted > 0, 3.0, 0.5)).mean() * 4
    digit = present & (label <= 10)
    followed = torch.zeros_like(present)
    followed[:, :-1] = label[:, 1:] == ALPHABET.index(".") + 1
    at = out[:, CTC_CLASSES:].float().gather(2, frame[:, None].expand(-1, 3, -1))
    point = functional.binary_cross_entropy_with_logits(
        at[:, 0], followed.float(), reduction="none"
    )
    point = (point * digit).sum() / digit.sum().clamp(min=1)
    edges = functional.smooth_l1_loss(
        at[:, 1:].transpose(1, 2), places[..., 1:], reduction="none", beta=0.05
    ).sum(2)
    edges = (edges * digit).sum() / digit.sum().clamp(min=1)
    total = weight_ctc * ctc + place * (1.2 - weight_ctc) + 0.5 * point + 2 * edges
    return total, {"ctc": ctc, "place": place, "point": point, "edges": edges}


def greedy(logits: np.ndarray) -> str:
    best = logits[:CTC_CLASSES].argmax(0)
    changed = np.flatnonzero(np.diff(best, prepend=0))
    return "".join(ALPHABET[best[t] - 1] for t in changed if best[t])


def right(logits: np.ndarray, labels: np.ndarray) -> np.ndarray:
    """Which of the outputs (n, channels, frames) read exactly as labelled."""
    wanted = ["".join(ALPHABET[i - 1] for i in label if i) for label in labels]
    return np.array([greedy(row) == text for row, text in zip(logits, wanted, strict=True)])


def main() -> None:
    parser = arguments(__doc__ or "", workers=6, batch=512)
    parser.add_argument("--net", choices=READERS, default="reader")
    options = parser.parse_args()
    faulthandler.dump_traceback_later(60 + options.seconds, exit=True)  # it ends, whatever happens
    device = torch.device("cuda" if torch.cuda.is_available() else "cpu")
    torch.backends.cuda.matmul.allow_tf32 = torch.backends.cudnn.allow_tf32 = True
    torch.backends.cudnn.benchmark = True
    feed = Feed(
        "crop",
        options.workers,
        options.seed,
        options.capacity or (300_000 if device.type == "cuda" else 4000),
        device,
        options.seconds,
        options.held or 1000,
        20_001,  # a seed that no training draws from
        easy=0 if options.resume else 2000,
        spool=options.spool,
    )
    net = READERS[options.net]().to(device)
    if options.resume:
        resume(net, options.resume)
    averaged = Averaged(net)
    print(options.net, "parameters", sum(p.numel() for p in net.parameters()), flush=True)
    net = net.to(memory_format=torch.channels_last)
    optimiser = torch.optim.AdamW(net.parameters(), options.rate, weight_decay=2e-2)
    grey_share = 0.2 if options.net == "reader" else 0.5  # so that the two see different pictures
    feed.fill(4 * options.batch if not options.resume else options.batch)
    course = Course(options)
    check: dict[str, Tensor] | None = None
    steps, sums = 0, {}
    facts = {"seed": options.seed, "batch": options.batch, "rate": options.rate}
    while (share := course.share) < 1:
        if steps % 8 == 0:
            feed.take_in()
        for group in optimiser.param_groups:
            group["lr"] = rate_at(share, options.rate)
        with torch.no_grad():
            pictures, batch = prepare(feed.batch(options.batch), True, grey_share)
        with torch.autocast(device.type, torch.bfloat16, enabled=device.type == "cuda"):
            out = net(pictures.contiguous(memory_format=torch.channels_last))
        total, parts = losses(out, batch, 1.0 if options.resume else min(1.0, 0.05 + 4 * share))
        optimiser.zero_grad(set_to_none=True)
        total.backward()
        torch.nn.utils.clip_grad_norm_(net.parameters(), 3.0)
        optimiser.step()
        averaged.update(net)
        steps += 1
        for name, value in parts.items():
            sums[name] = sums.get(name, value.detach()) * 0.98 + value.detach() * 0.02
        if course.telling():
            exact = ""
            if check is None and (held := feed.held()) is not None:
                check = {name: torch.from_numpy(rows).to(device) for name, rows in held.items()}
            if check is not None:
                with torch.no_grad():
                    logits = averaged.net(prepare(check, False)[0]).float().cpu().numpy()
                share_right = right(logits, check["label"].cpu().numpy()).mean()
                exact = f"exact on held drawings {share_right:.3f}"
            told_parts = "  ".join(f"{name} {float(value):.3f}" for name, value in sums.items())
            print(
                f"{options.net} {course.elapsed:4.0f} s  steps {steps}  samples {feed.made}  "
                f"{exact}  {told_parts}",
                flush=True,
            )
        if course.saving():
            facts |= {"steps": steps, "samples": feed.made}
            save(options.out / f"{options.net}.pt", averaged, facts)
    facts |= {"steps": steps, "samples": feed.made}
    save(options.out / f"{options.net}.pt", averaged, facts)
    print(
        f"{options.net} done: {steps} steps of {options.batch}, {feed.made} different samples",
        flush=True,
    )
    faulthandler.cancel_dump_traceback_later()
    feed.close()


if __name__ == "__main__":
    main()
