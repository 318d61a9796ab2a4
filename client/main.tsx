import { render } from "preact";
import "./styles/font.css";
import "./tokens.css";
import "./styles/base.css";
import "./styles/layout.css";
import "./styles/parts.css";
import "./styles/plan.css";
import "./styles/narrow.css";
import { App } from "./app.tsx";
import { startKeys } from "./state/keys.ts";
import { startSession } from "./state/session.ts";
import { startView } from "./state/view.ts";
import { placeSprite } from "./ui/icon.tsx";

placeSprite();
startView();
startKeys();
startSession();
render(<App />, document.getElementById("app")!);
