"""Train the reader: `python -m models.display.train_reader --seconds 300 --out FOLDER`."""

from __future__ import annotations

import time

import numpy as np
import torch
from torch import Tensor
from torch.nn import functional

from models.display import samples
from models.display.chunks import crop_chunk
from models.display.feed import Feed
from models.display.nets import CTC_CLASSES, Reader
from models.display.text import ALPHABET
from models.display.train_common import Averaged, arguments, photometric, rate_at, save

FRAMES = samples.READER_WIDTH // 4


def prepare(batch: dict[str, Tensor], vary: bool) -> Tensor:
    """Network input (n, 3, 48, 320) of stored samples, normalised as `samples.normalise` does."""
    x = batch["picture"].permute(0, 3, 1, 2).float()
    if vary:
        x = photometric(x)
    width = batch["width"].to(x.device)[:, None, None, None]
    inside = (torch.arange(samples.READER_WIDTH, device=x.device) < width).float()
    count = width * samples.READER_HEIGHT
    x = (x - (x * inside).sum((2, 3), keepdim=True) / count) * inside
    deviation = ((x * x).sum((1, 2, 3), keepdim=True) / (3 * count)).sqrt()
    return x / (deviation + 4.0)


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


def main() -> None:
    options = arguments(__doc__ or "", workers=6, batch=512)
    device = torch.device("cuda" if torch.cuda.is_available() else "cpu")
    torch.backends.cuda.matmul.allow_tf32 = torch.backends.cudnn.allow_tf32 = True
    torch.backends.cudnn.benchmark = True
    capacity = options.capacity or (400_000 if device.type == "cuda" else 4000)
    feed = Feed(
        "crop",
        options.workers,
        options.seed,
        capacity,
        device,
        64,
        easy=0 if options.resume else 12_000,
    )
    held = crop_chunk(
        np.random.default_rng(20_001), options.held or 500, 0.8
    )  # never trained on: another seed
    net = Reader().to(device)
    if options.resume:
        net.load_state_dict(torch.load(options.resume, map_location=device)["averaged"])
    averaged = Averaged(net)
    print("parameters", sum(p.numel() for p in net.parameters()), flush=True)
    net = net.to(memory_format=torch.channels_last)
    optimiser = torch.optim.AdamW(net.parameters(), options.rate, weight_decay=2e-2)
    check = {name: torch.from_numpy(rows).to(device) for name, rows in held.items()}
    feed.fill(6 * options.batch)
    start = told = time.monotonic()
    steps, sums = 0, {}
    while (share := (time.monotonic() - start) / options.seconds) < 1:
        feed.take_in()
        for group in optimiser.param_groups:
            group["lr"] = rate_at(share, options.rate)
        batch = feed.batch(options.batch)
        with torch.autocast(device.type, torch.bfloat16, enabled=device.type == "cuda"):
            out = net(prepare(batch, vary=True).contiguous(memory_format=torch.channels_last))
        total, parts = losses(out, batch, 1.0 if options.resume else min(1.0, 0.05 + 4 * share))
        optimiser.zero_grad(set_to_none=True)
        total.backward()
        torch.nn.utils.clip_grad_norm_(net.parameters(), 3.0)
        optimiser.step()
        averaged.update(net)
        steps += 1
        for name, value in parts.items():
            sums[name] = sums.get(name, 0) * 0.98 + value.detach() * 0.02
        if time.monotonic() - told > 20:
            told = time.monotonic()
            with torch.no_grad():
                logits = averaged.net(prepare(check, vary=False)).float().cpu().numpy()
            right = 0
            for row, label in zip(logits, held["label"], strict=True):
                right += greedy(row) == "".join(ALPHABET[i - 1] for i in label if i)
            told_parts = "  ".join(f"{name} {float(value):.3f}" for name, value in sums.items())
            print(
                f"reader {told - start:4.0f} s  steps {steps}  samples {feed.made}  "
                f"exact on held synthetic {right / len(logits):.3f}  {told_parts}",
                flush=True,
            )
            save(
                options.out / "reader.pt",
                net,
                averaged,
                {"steps": steps, "samples": feed.made, "seed": options.seed},
            )
    save(
        options.out / "reader.pt",
        net,
        averaged,
        {"steps": steps, "samples": feed.made, "seed": options.seed, "batch": options.batch},
    )
    print(
        f"reader done: {steps} steps of {options.batch}, {feed.made} different samples", flush=True
    )
    feed.close()


if __name__ == "__main__":
    main()
