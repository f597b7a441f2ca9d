"""Train the finder: `python -m models.display.train_finder --seconds 300 --out FOLDER`."""

from __future__ import annotations

import faulthandler

import torch
from torch import Tensor
from torch.nn import functional

from models.display import samples
from models.display.feed import Feed
from models.display.nets import Finder
from models.display.train_common import Averaged, Course, arguments, rate_at, resume, save
from models.display.vary import photometric

CELL = 4
UNIT = 16.0
"""Distances are in this many px of the input."""


@torch.no_grad()
def moved(pictures: Tensor, quads: Tensor, kinds: Tensor) -> tuple[Tensor, Tensor, Tensor]:
    """Each picture turned, scaled and shifted on its own, with its quads.

    Never one turn for a whole batch: batch norm's statistics would tell the network which it is,
    and in use they can't.
    """
    n, size = len(pictures), pictures.shape[-1]
    device = pictures.device
    quarter = torch.multinomial(
        torch.tensor([0.55, 0.14, 0.17, 0.14], device=device), n, replacement=True
    )
    small = torch.where(
        torch.rand(n, device=device) < 0.85,
        torch.randn(n, device=device) * 0.06,
        torch.rand(n, device=device) * 1.2 - 0.6,
    )
    angle = quarter * (torch.pi / 2) + small
    scale = torch.where(
        torch.rand(n, device=device) < 0.6,
        (torch.randn(n, device=device) * 0.22 - 0.05).clamp(-0.7, 0.6).exp(),
        1.0,
    )
    shift = (torch.rand(n, 2, device=device) - 0.5) * 0.2
    cos, sin = angle.cos(), angle.sin()
    turn = torch.stack(
        [torch.stack([cos, -sin], 1), torch.stack([sin, cos], 1)], 1
    )  # picture to view
    back = turn.transpose(1, 2) / scale[:, None, None]
    grid = functional.affine_grid(
        torch.cat([back, shift[:, :, None]], 2), [n, 3, size, size], align_corners=False
    )
    seen = functional.grid_sample(pictures - samples.GREY, grid, align_corners=False) + samples.GREY
    flat = quads.flatten(1, 2) / (size / 2) - 1 - shift[:, None]
    placed = ((flat @ turn.transpose(1, 2)) * scale[:, None, None]).view_as(quads)
    cut = placed.abs().amax((2, 3)) > 1.02
    gone = (placed.amin(2).amax(-1) > 1.0) | (placed.amax(2).amin(-1) < -1.0)
    high = (placed[:, :, 3] - placed[:, :, 0]).norm(dim=-1) * size / 2
    kept = torch.where(gone, 0, torch.where((kinds > 0) & (cut | (high < 4.5)), 3, kinds.long()))
    return seen, (placed + 1) * (size / 2), kept


@torch.no_grad()
def targets(quads: Tensor, kinds: Tensor, size: int) -> dict[str, Tensor]:
    """What each cell should say, from quads (n, q, 4, 2) px and kinds (n, q).

    kind (n, h, w): 0 nothing, 1 reading, 2 unit, 3 don't care; distances (n, 4, h, w) px; direction
    (n, 2, h, w);
    share (n, h, w): one over the number of cells of the box that the cell belongs to.
    """
    cells = size // CELL
    axis = (torch.arange(cells, device=quads.device) + 0.5) * CELL
    x, y = axis[None, None, None, :], axis[None, None, :, None]
    centre = quads.mean(2)
    along = (quads[:, :, 1] + quads[:, :, 2] - quads[:, :, 0] - quads[:, :, 3]) / 2
    half_w = along.norm(dim=-1).clamp(min=1e-3)
    u = along / half_w[..., None]
    half_w = half_w / 2
    v = torch.stack([-u[..., 1], u[..., 0]], -1)
    half_h = ((quads[:, :, 3] + quads[:, :, 2] - quads[:, :, 0] - quads[:, :, 1]) / 2 * v).sum(
        -1
    ).abs() / 2

    def wide(value: Tensor) -> Tensor:
        return value[:, :, None, None]

    dx, dy = x - wide(centre[..., 0]), y - wide(centre[..., 1])
    du, dv = (
        dx * wide(u[..., 0]) + dy * wide(u[..., 1]),
        dx * wide(v[..., 0]) + dy * wide(v[..., 1]),
    )
    inner_w = torch.maximum(half_w - 0.4 * half_h, 0.5 * half_w)
    inside = (du.abs() < wide(inner_w)) & (
        dv.abs() < wide(torch.maximum(0.6 * half_h, torch.full_like(half_h, 2.2)).minimum(half_h))
    )
    around = (du.abs() < wide(half_w)) & (dv.abs() < wide(half_h))
    real = wide(kinds > 0)
    inside, around = inside & real, around & real
    rank = torch.where(
        inside, torch.where(wide(kinds) == 1, 3, torch.where(wide(kinds) == 2, 2, 1)), 0
    )
    best, which = rank.max(1)
    kind = kinds.long().gather(1, which.flatten(1)).view_as(which) * (best > 0)
    ignored = (around & wide(kinds == 3)).any(1)
    kind = torch.where(ignored & (kind == 0), 3, kind)
    area = inside.flatten(2).sum(2).clamp(min=1).float()
    pick = which[:, None]
    distances = torch.stack(
        [wide(half_w) + du, wide(half_h) + dv, wide(half_w) - du, wide(half_h) - dv], 1
    )
    distances = distances.gather(2, pick[:, :, None].expand(-1, 4, -1, -1, -1))[:, :, 0]
    flat = which.flatten(1)
    direction = torch.stack([u[..., i].gather(1, flat).view_as(which) for i in (0, 1)], 1)
    share = 1 / area.gather(1, flat).view_as(which)
    return {
        "kind": kind,
        "distances": distances,
        "direction": direction,
        "share": share,
        "ring": around.any(1) & (kind == 0),
    }


def losses(out: Tensor, aim: dict[str, Tensor]) -> tuple[Tensor, dict[str, Tensor]]:
    out = out.float()
    kind = aim["kind"]
    cared = (kind != 3).float()
    reading, unit = (kind == 1).float(), (kind == 2).float()
    weight = cared * torch.where(aim["ring"], 0.6, 1.0)
    parts = {}
    scores = 0.0
    for name, channel, wanted, scale in (("reading", 0, reading, 1.0), ("unit", 1, unit, 0.4)):
        raw = functional.binary_cross_entropy_with_logits(out[:, channel], wanted, reduction="none")
        p = out[:, channel].sigmoid()
        hard = (
            1 - torch.where(wanted > 0, p, 1 - p)
        ) ** 1.5  # so that the few unclear cells weigh most
        cells = (
            (raw * hard * weight * (1 + 2 * wanted)).sum()
            / (wanted * weight).sum().clamp(min=50)
            * 0.5
        )
        overlap = 1 - (2 * (p * wanted * weight).sum((1, 2)) + 8) / (
            (p * weight).sum((1, 2)) + (wanted * weight).sum((1, 2)) + 8
        )
        parts[name] = cells + overlap.mean()
        scores = scores + scale * parts[name]
    boxed = ((kind == 1) | (kind == 2)).float()
    each = boxed * torch.where(kind == 1, 1.0, 0.25) * (aim["share"] + 1 / 300)
    norm = each.sum().clamp(min=1e-3)
    aimed = (aim["distances"].clamp(min=1.0) / UNIT).log()
    edges = functional.smooth_l1_loss(out[:, 2:6], aimed, reduction="none", beta=0.08).sum(1)
    parts["edges"] = (edges * each).sum() / norm
    away = (out[:, 6:8] - aim["direction"]).abs().sum(1)
    parts["direction"] = (away * each).sum() / norm
    return scores + parts["edges"] + 1.5 * parts["direction"], parts


@torch.no_grad()
def quality(out: Tensor, aim: dict[str, Tensor]) -> str:
    """Shares of the reading cells that score and point rightly, and of the others that score."""
    reading = aim["kind"] == 1
    count = reading.sum().clamp(min=1)
    scored = out[:, 0] > 0
    ahead = (torch.nn.functional.normalize(out[:, 6:8], dim=1) * aim["direction"]).sum(1)
    figures = {
        "seen": (scored & reading).sum() / count,
        "false": (scored & (aim["kind"] != 1) & (aim["kind"] != 3)).sum() / count,
        "ahead": ((ahead > 0.9) & reading).sum() / count,
        "reversed": ((ahead < -0.5) & reading).sum() / count,
    }
    return "  ".join(f"{name} {float(value):.3f}" for name, value in figures.items())


def main() -> None:
    options = arguments(__doc__ or "", workers=10, batch=64).parse_args()
    faulthandler.dump_traceback_later(60 + options.seconds, exit=True)  # it ends, whatever happens
    device = torch.device("cuda" if torch.cuda.is_available() else "cpu")
    torch.backends.cuda.matmul.allow_tf32 = torch.backends.cudnn.allow_tf32 = True
    torch.backends.cudnn.benchmark = True
    feed = Feed(
        "scene",
        options.workers,
        options.seed + 500,
        options.capacity or (45_000 if device.type == "cuda" else 400),
        device,
        options.seconds,
        options.held or 160,
        20_002,  # a seed that no training draws from
        spool=options.spool,
    )
    net = Finder().to(device)
    if options.resume:
        resume(net, options.resume)
    averaged = Averaged(net, keep=0.998)
    print("finder parameters", sum(p.numel() for p in net.parameters()), flush=True)
    net = net.to(memory_format=torch.channels_last)
    optimiser = torch.optim.AdamW(net.parameters(), options.rate, weight_decay=2e-2)
    feed.fill(2 * options.batch)
    course = Course(options)
    check: tuple[Tensor, dict[str, Tensor]] | None = None
    steps, sums = 0, {}
    facts = {"seed": options.seed, "batch": options.batch, "rate": options.rate}
    while (share := course.share) < 1:
        if steps % 4 == 0:
            feed.take_in()
        for group in optimiser.param_groups:
            group["lr"] = rate_at(share, options.rate)
        batch = feed.batch(options.batch)
        pictures, quads, kinds = moved(
            batch["picture"].permute(0, 3, 1, 2).float(), batch["quads"], batch["kinds"]
        )
        with torch.no_grad():
            pictures = photometric(pictures) / 127.5 - 1
        aim = targets(quads, kinds, samples.FINDER_SIZE)
        with torch.autocast(device.type, torch.bfloat16, enabled=device.type == "cuda"):
            out = net(pictures.contiguous(memory_format=torch.channels_last))
        total, parts = losses(out, aim)
        optimiser.zero_grad(set_to_none=True)
        total.backward()
        torch.nn.utils.clip_grad_norm_(net.parameters(), 3.0)
        optimiser.step()
        averaged.update(net)
        steps += 1
        for name, value in parts.items():
            sums[name] = sums.get(name, value.detach()) * 0.98 + value.detach() * 0.02
        if course.telling():
            held_figures = ""
            if check is None and (held := feed.held()) is not None:
                kept = {name: torch.from_numpy(rows).to(device) for name, rows in held.items()}
                seen, quads, kinds = moved(
                    kept["picture"].permute(0, 3, 1, 2).float(), kept["quads"], kept["kinds"]
                )
                check = seen / 127.5 - 1, targets(quads, kinds, samples.FINDER_SIZE)
            if check is not None:
                with torch.no_grad():
                    held_figures = quality(averaged.net(check[0]).float(), check[1])
            told_parts = "  ".join(f"{name} {float(value):.3f}" for name, value in sums.items())
            print(
                f"finder {course.elapsed:4.0f} s  steps {steps}  scenes {feed.made}  "
                f"held: {held_figures}  {told_parts}",
                flush=True,
            )
        if course.saving():
            facts |= {"steps": steps, "samples": feed.made}
            save(options.out / "finder.pt", averaged, facts)
    facts |= {"steps": steps, "samples": feed.made}
    save(options.out / "finder.pt", averaged, facts)
    print(
        f"finder done: {steps} steps of {options.batch}, {feed.made} different scenes", flush=True
    )
    faulthandler.cancel_dump_traceback_later()
    feed.close()


if __name__ == "__main__":
    main()
